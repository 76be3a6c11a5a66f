//! Reports that are sent and turned away: whatever stands against one, the page says first that it was not sent and that a person
//! must be told.

use crate::web::visit::Visit;

/// Is a report sent to this address? Its photo comes after it and is none.
pub fn is_of_reports(address: &str) -> bool {
    let path = address.split('?').next().unwrap_or_default();
    let mut parts = path.trim_matches('/').split('/');
    let parts = (parts.next(), parts.next(), parts.next(), parts.next());
    matches!(
        parts,
        (Some("report" | "offline" | "contact"), None, ..)
            | (Some("p"), Some(_), None, _)
            | (Some("t"), Some(_), Some("report"), None)
            | (Some("packs"), Some(_), Some("condition"), None)
    )
}

/// What stands before the words of a refusal; None: it is not a report that is turned away.
pub fn words(visit: &Visit) -> Option<String> {
    if !visit.is_report {
        return None;
    }
    let number = visit.club.as_ref().map(|club| &club.hall.emergency_number);
    let number = number.filter(|number| !number.is_empty());
    let number = number.map_or_else(String::new, |number| format!(" ({number})"));
    Some(format!(
        "Not sent: tell a person of the club now. Smoke, heat, hissing or fire: get away and call the fire service{number}."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reports_are_sent_to_these_addresses_and_their_photos_elsewhere() {
        for path in [
            "/report",
            "/offline",
            "/contact",
            "/p/0123",
            "/t/0123/report",
            "/packs/P-001/condition",
            "/packs/P-001/condition?now=no",
        ] {
            assert!(is_of_reports(path), "{path}");
        }
        for path in [
            "/",
            "/reports",
            "/reported/0123",
            "/t/0123",
            "/packs/P-001/volts",
            "/packs/P-001",
            "/api/v1/packs/P-001/condition",
        ] {
            assert!(!is_of_reports(path), "{path}");
        }
    }
}
