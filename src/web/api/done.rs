//! What a change is answered with: where to see what came of it. It follows from the address that the page's own form
//! keeps for being sent again, so that a request sent again gets the same answer.

use super::BASE;
use super::operation::Shown;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Done {
    /// The address of this API where what came of it is seen.
    pub see: String,
    /// A place to which packs were moved by that, and that holds more energy than it may since; null: there is none.
    pub place_over_limit: Option<Uuid>,
}

impl Done {
    /// `address`: where the page led.
    pub fn at_page(address: &str) -> Self {
        let (path, query) = address.split_once('?').unwrap_or((address, ""));
        let pairs: Vec<(&str, &str)> = query
            .split('&')
            .filter_map(|pair| pair.split_once('='))
            .collect();
        let one = |name: &str| {
            let found = pairs.iter().find(|(key, _)| *key == name);
            found.map_or("", |(_, value)| *value)
        };
        let place = match path {
            "/packs/new" => format!("/designs/{}", one("design")),
            "/packs/registered" => {
                format!("/packs/registered?from={}&to={}", one("from"), one("to"))
            }
            "/take-back/done" => {
                let lines = pairs.iter().filter(|(name, _)| *name == "lent");
                let ids: Vec<&str> = lines.map(|(_, id)| *id).collect();
                format!("/take-back/done?lent={}", ids.join(","))
            }
            // What was wrong with a charge leads to the form of what is seen; what came of it stands on the pack.
            pack if pack.starts_with("/packs/") => pack.trim_end_matches("/condition").to_owned(),
            kit if kit.starts_with("/kit/") => kit.trim_end_matches("/gone").to_owned(),
            other => other.to_owned(),
        };
        Self {
            see: format!("{BASE}{place}"),
            place_over_limit: one("over").parse().ok(),
        }
    }
}

impl Done {
    /// What `once` keeps for a form: an address, or a person's id. None: taking back may have gone on from there.
    pub fn kept(answer: &str) -> Option<Self> {
        if answer.starts_with("/take-back/") {
            return None;
        }
        let is_person = answer.parse::<Uuid>().is_ok();
        Some(if is_person {
            Self::at_page(&format!("/people/{answer}"))
        } else {
            Self::at_page(answer)
        })
    }
}

impl Shown for Done {
    fn example() -> Self {
        Self::at_page("/packs/P-001")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_came_of_it_is_seen_where_the_page_led() {
        let see = |address| Done::at_page(address).see;
        assert_eq!(see("/loans/a?new=1"), "/api/v1/loans/a");
        assert_eq!(see("/packs/new?design=d"), "/api/v1/designs/d");
        assert_eq!(see("/kit/k/gone"), "/api/v1/kit/k");
        assert_eq!(see("/packs/P-001/condition"), "/api/v1/packs/P-001");
        assert_eq!(
            see("/packs/registered?from=1&to=3&over=x"),
            "/api/v1/packs/registered?from=1&to=3"
        );
        assert_eq!(
            see("/take-back/done?lent=a&lent=b&already=b"),
            "/api/v1/take-back/done?lent=a,b"
        );
    }

    #[test]
    fn a_place_that_holds_too_much_since_is_told_and_none_where_there_is_none() {
        let place = Uuid::from_u128(7);
        let seen = Done::at_page(&format!("/take-back/done?lent=a&over={place}"));
        assert_eq!(seen.place_over_limit, Some(place));
        assert_eq!(seen.see, "/api/v1/take-back/done?lent=a");
        assert_eq!(Done::at_page("/packs/P-001").place_over_limit, None);
    }
}
