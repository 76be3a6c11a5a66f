//! What a scanner typed into a field for packs: addresses of labels become the numbers of their packs. Without a code in
//! the line nothing is asked of the database.

use crate::app::App;
use crate::club::label::{codes_in, with_numbers};
use crate::store::{StoreError, labels};

/// A code that leads nowhere stays as it was typed and is refused like any other word that is no number.
pub(super) async fn as_numbers(app: &App, line: &str) -> Result<String, StoreError> {
    let codes = codes_in(line);
    if codes.is_empty() {
        return Ok(line.to_owned());
    }
    let known = labels::numbers(&mut app.db.read().await?, &codes).await?;
    let number_of = |code: &str| {
        let found = known.iter().find(|(of, _)| of == code);
        found.map(|(_, number)| number.clone())
    };
    Ok(with_numbers(line, number_of))
}
