//! What is printed: data in, bytes out. `typeset` sets a document and makes a PDF of it, `code` draws a QR code, `sheet`
//! says where on the paper each label lies, `labels` puts the three together; `charge_card` is the form for the wall, `book_paper`
//! the incident book, which `bundle` makes a `zip` of, `poster` a code for the wall, `wall_card` the first minute. `mail` and `push`
//! are what is sent. Lengths in hundredths of a millimetre.

pub mod book_paper;
pub mod bundle;
pub mod charge_card;
pub mod code;
pub mod labels;
pub mod mail;
pub mod photo;
pub mod poster;
pub mod presets;
pub mod push;
pub mod sheet;
mod typeset;
pub mod wall_card;
pub mod zip;

/// Why nothing came out; a mistake of ours, never of what was typed.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct PaperError(pub String);
