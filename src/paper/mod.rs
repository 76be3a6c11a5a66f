//! What is printed: data in, bytes out. `typeset` sets a document and makes a PDF of it, `code` draws a QR code, `sheet`
//! says where on the paper each label lies, `labels` puts the three together; `charge_card` is the form for the wall. Lengths in hundredths of a millimetre.

pub mod charge_card;
pub mod code;
pub mod labels;
pub mod mail;
pub mod photo;
pub mod presets;
pub mod sheet;
mod typeset;

/// Why nothing came out; a mistake of ours, never of what was typed.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct PaperError(pub String);
