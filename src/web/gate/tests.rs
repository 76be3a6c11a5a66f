//! Who is let in by which way in: a password typed, a code at the shared tablet, a token.

use super::*;
use crate::actions::set_up::first_settings;
use crate::club::calendar::Instant;

fn visit(tablet_name: Option<&str>, is_by_token: bool) -> Visit {
    let me = Me {
        session_id: ids::new_id(),
        seen_ms: Instant(0),
        idle_minutes: 30,
        person_id: ids::new_id(),
        name: "Avery".to_owned(),
        is_member: true,
        is_quartermaster: true,
        is_organiser: true,
        tablet_name: tablet_name.map(str::to_owned),
        unread_reports: 0,
        looks_due: 0,
        to_stop: 0,
        actions_to_do: 0,
    };
    Visit {
        now: Instant(0),
        club: Some(first_settings(
            "Millrace",
            "Europe/London",
            false,
            Instant(0),
        )),
        me: Some(me),
        zone: Zone::utc(),
        is_plain_http: false,
        base: String::new(),
        path: "/".to_owned(),
        is_report: false,
        network: IpAddr::V4(Ipv4Addr::LOCALHOST),
        is_by_token,
        tablet: None,
        is_at_table: false,
    }
}

fn is_let_in(visit: &Visit, who: Who) -> bool {
    let uri = axum::http::Uri::from_static("/");
    admit(visit, who, &Method::POST, &uri).is_ok()
}

#[test]
fn what_asks_for_a_password_takes_neither_a_tablets_code_nor_a_token() {
    let by_password = [
        Who::SignedInByPassword,
        Who::HoldsByPassword(&[Role::Quartermaster, Role::Organiser]),
    ];
    for who in by_password {
        assert!(is_let_in(&visit(None, false), who), "{who:?}");
        assert!(!is_let_in(&visit(Some("Table"), false), who), "{who:?}");
        assert!(!is_let_in(&visit(None, true), who), "{who:?}");
    }
    for who in [Who::SignedIn, Who::Holds(&[Role::Quartermaster])] {
        assert!(is_let_in(&visit(Some("Table"), false), who), "{who:?}");
        assert!(is_let_in(&visit(None, true), who), "{who:?}");
    }
}
