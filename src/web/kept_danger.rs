//! What of a kept form tells of danger: whoever signs in next at a shared tablet reads it, since it must not be lost with the
//! form of somebody who went away. Nothing of it is sent.

use crate::app::App;
use crate::club::book::watch::Sign;
use crate::club::reports::IsNow;
use crate::store::{StoreError, packs};
use crate::web::fields::Fields;
use crate::web::kept_form::KeptForm;
use crate::web::pack_forms::looked;
use uuid::Uuid;

/// What somebody typed of one thing.
pub struct Danger {
    /// A pack; empty: something in the hall.
    pub number: String,
    /// What was ticked, and of a pack the words beside it.
    pub seen: String,
}

/// What is typed of which thing.
enum Of {
    Pack(String),
    /// A thing that was out.
    Line(Uuid),
    Hall,
}

/// Does it tell of danger? Words without a tick on a pack may as well.
pub fn is_told(kept: &KeptForm) -> bool {
    !typed(kept).is_empty()
}

pub async fn told(app: &App, kept: &KeptForm) -> Result<Vec<Danger>, StoreError> {
    let typed = typed(kept);
    let lines: Vec<Uuid> = typed
        .iter()
        .filter_map(|(of, _)| match of {
            Of::Line(id) => Some(*id),
            _ => None,
        })
        .collect();
    let found = packs::of_lines(&mut app.db.read().await?, &lines).await?;
    let number = |of: Of| match of {
        Of::Pack(number) => number,
        Of::Line(id) => found
            .iter()
            .find(|one| one.line_id == id)
            .map_or_else(String::new, |one| one.pack.number.clone()),
        Of::Hall => String::new(),
    };
    let told = typed.into_iter().map(|(of, seen)| Danger {
        number: number(of),
        seen,
    });
    Ok(told.collect())
}

fn typed(kept: &KeptForm) -> Vec<(Of, String)> {
    let fields = Fields::new(kept.pairs.clone());
    let path = kept.to.split('?').next().unwrap_or_default();
    let parts: Vec<&str> = path.trim_matches('/').split('/').collect();
    let of_one = match parts.as_slice() {
        ["packs", number, "condition" | "watch"] => Of::Pack(number.to_uppercase()),
        ["mine", line, "bring-back"] => line.parse().map_or(Of::Hall, Of::Line),
        ["take-back", "items"] => return each_line(&fields),
        ["report"] => Of::Hall,
        _ => return Vec::new(),
    };
    let signs = fields.all("sign");
    let signs = signs.iter().filter_map(|code| Sign::from_code(code));
    let signs = signs.filter(|sign| sign.comes_to().is_some());
    let signs: Vec<&str> = signs.map(Sign::label).collect();
    let seen = if signs.is_empty() {
        seen_of(&fields, "", matches!(of_one, Of::Hall))
    } else {
        Some(signs.join("; "))
    };
    seen.map(|seen| (of_one, seen)).into_iter().collect()
}

/// Of each thing that came back.
fn each_line(fields: &Fields) -> Vec<(Of, String)> {
    let named = fields.pairs().iter().filter_map(|(name, _)| {
        let (field, id) = name.split_once('-')?;
        let id: Uuid = id.parse().ok()?;
        matches!(field, "seen" | "crash" | "own_words").then_some(id)
    });
    let mut lines: Vec<Uuid> = named.collect();
    lines.sort_unstable();
    lines.dedup();
    let told = lines.into_iter().filter_map(|id| {
        let seen = seen_of(fields, &format!("-{id}"), false)?;
        Some((Of::Line(id), seen))
    });
    told.collect()
}

/// None: no danger. What is told of the hall may be for those who run the pool alone, so of that nobody reads the words.
fn seen_of(fields: &Fields, suffix: &str, is_of_hall: bool) -> Option<String> {
    let looked = looked(fields, suffix);
    let happens = fields.text("is_now") == IsNow::Yes.code();
    let words = if is_of_hall {
        let dangers = looked.seen.iter().filter(|seen| seen.is_danger());
        let dangers: Vec<&str> = dangers.map(|seen| seen.label()).collect();
        (!dangers.is_empty()).then(|| dangers.join("; "))
    } else {
        let may_be = happens || looked.is_danger() || !looked.own_words.trim().is_empty();
        looked.words().filter(|_| may_be)
    };
    match words {
        Some(words) if happens => Some(format!("Happening now: {words}")),
        None if happens => Some("Happening now".to_owned()),
        words => words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(to: &str, pairs: &[(&str, &str)]) -> Vec<String> {
        let pairs = pairs
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
        let kept = KeptForm {
            to: to.to_owned(),
            pairs: pairs.collect(),
        };
        typed(&kept).into_iter().map(|(_, seen)| seen).collect()
    }

    #[test]
    fn what_is_danger_is_told_with_its_words_and_of_the_hall_without() {
        let at = "/packs/P-001/condition?now=no";
        let swollen = [("seen", "swollen"), ("own_words", "like a cushion")];
        assert_eq!(seen(at, &swollen), ["Swollen or puffed; like a cushion"]);
        assert_eq!(seen("/report", &swollen), ["Swollen or puffed"]);
        assert_eq!(seen(at, &[("own_words", "smokes")]), ["smokes"]);
        assert_eq!(
            seen(at, &[("seen", "wrap_torn"), ("own_words", " ")]),
            [""; 0]
        );
        assert_eq!(seen(at, &[("crash", "hit_or_bent")]).len(), 1);
        assert_eq!(seen("/report", &[("own_words", "smokes")]), [""; 0]);
        let torn = [("seen", "wrap_torn"), ("is_now", "yes")];
        assert_eq!(
            seen(at, &torn),
            ["Happening now: Outer wrap torn, foil whole"]
        );
        assert_eq!(seen("/report", &torn), ["Happening now"]);
        assert_eq!(seen("/hand-out", &swollen), [""; 0], "no such field there");
    }

    #[test]
    fn each_thing_that_came_back_and_each_sign_of_a_watched_pack_is_told() {
        let one = Uuid::from_u128(1);
        let (swollen, torn) = (
            format!("seen-{one}"),
            format!("seen-{}", Uuid::from_u128(2)),
        );
        let pairs = [
            (swollen.as_str(), "swollen"),
            (torn.as_str(), "wrap_torn"),
            ("seen-x", "wet"),
        ];
        assert_eq!(seen("/take-back/items", &pairs), ["Swollen or puffed"]);
        let signs = [("sign", "smoke"), ("sign", "could_not_see")];
        assert_eq!(seen("/packs/P-001/watch", &signs), ["Smoke or vapour"]);
        let quiet = [("quiet", "yes"), ("sign", "could_not_see")];
        assert_eq!(seen("/packs/P-001/watch", &quiet), [""; 0]);
    }
}
