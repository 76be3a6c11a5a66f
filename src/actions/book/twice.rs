//! An incident that is in the book already, told once more: whoever goes back in the browser and sends the form again would open a
//! second one, which nobody could take out.

use super::{BookFailed, called, sealed, told};
use crate::actions::By;
use crate::club::book::telling::Opened;
use crate::store::Tx;
use crate::store::book::entries;
use serde_json::json;

/// So long the same words are taken for the same incident. Common practice, no source.
const STILL_THE_SAME_HOURS: i64 = 1;

/// `before`: how many incidents the book has.
pub(super) async fn is_another(
    tx: &mut Tx,
    by: &By,
    before: i64,
    opened: &Opened,
) -> Result<(), BookFailed> {
    let incident = called(before);
    let kept = entries::told(tx, Some(&incident)).await?;
    let all = sealed(&kept.entries)?;
    let Some(first) = all.first().map(|first| &first.entry) else {
        return Ok(());
    };
    let said = |name: &str| {
        let apart = kept.parts.iter();
        let mut apart = apart.filter(|one| one.seq == first.seq && one.part.name == name);
        let text = first.body[name].as_str();
        text.or_else(|| apart.next().map(|one| one.part.words.as_str()))
            .unwrap_or_default()
    };
    let items = first.body["items"].as_array().into_iter().flatten();
    let items = items.filter_map(|item| item["called"].as_str());
    let is_same = first.body["happened_ms"] == json!(opened.happened.ms())
        && first.body["kind"] == json!(opened.kind)
        && first.body["severity"] == json!(opened.severity)
        && said("words") == opened.words.text.trim()
        && said("place") == opened.place.trim()
        && said("others") == opened.involved.others.text.trim()
        && items.eq(opened
            .involved
            .items
            .iter()
            .map(|item| item.called.as_str()));
    if is_same && by.at < first.at().plus_hours(STILL_THE_SAME_HOURS) {
        let ask = format!(
            "Incident {incident} was opened with these words a moment ago. Go on there. Was this another one, say how it differs."
        );
        return Err(told("words", ask));
    }
    Ok(())
}
