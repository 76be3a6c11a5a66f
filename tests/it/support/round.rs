//! Going round every route of the table: addresses with real ids in them, or with ids of nothing, and who may go where.

use super::{Browser, TestClub};
use axum::http::Method;
use sandbucket::club::people::Roles;
use sandbucket::ids;
use sandbucket::web::gate::Who;
use sandbucket::web::routes;
use std::collections::BTreeMap;

/// Method, address with its `{parameters}`, who may.
pub type Stop = (Method, &'static str, Who);

pub fn every_route() -> Vec<Stop> {
    let table = routes::table().into_iter();
    table
        .map(|route| (route.method, route.path, route.who))
        .collect()
}

pub fn every_page() -> Vec<Stop> {
    let routes = every_route().into_iter();
    routes
        .filter(|(method, ..)| *method == Method::GET)
        .collect()
}

pub fn every_form() -> Vec<Stop> {
    let routes = every_route().into_iter();
    routes
        .filter(|(method, ..)| *method == Method::POST)
        .collect()
}

/// May somebody with these roles (None: not signed in) use it, once there is a club?
pub fn may_use(who: Who, roles: Option<Roles>) -> bool {
    match who {
        Who::Unasked | Who::Anyone | Who::Visitor => true,
        Who::Newcomer => false,
        Who::SignedIn | Who::SignedInByPassword => roles.is_some(),
        Who::Holds(wanted) | Who::HoldsByPassword(wanted) => {
            roles.is_some_and(|roles| roles.has_any(wanted))
        }
    }
}

pub const EVERY_ROLE: Roles = Roles {
    is_member: true,
    is_quartermaster: true,
    is_organiser: true,
};

/// What stands in for the parameters of an address, by the part of the address before them.
pub struct Signposts(BTreeMap<&'static str, String>);

impl Signposts {
    /// Something that is really there for each: the first of its table.
    pub async fn real(club: &TestClub) -> Self {
        Self::nth(club, 0).await
    }

    /// So many rounds, each past other rows, so that no page is looked at in one lucky state only.
    pub async fn several(club: &TestClub, count: usize) -> Vec<Self> {
        let mut all = Vec::new();
        for index in 0..count {
            all.push(Self::nth(club, index).await);
        }
        all
    }

    /// The row at `index` from either end in turn, round and round.
    async fn nth(club: &TestClub, index: usize) -> Self {
        let at = |count: usize| match (count, index % 2) {
            (0, _) => 0,
            (count, 0) => index / 2 % count,
            (count, _) => count - 1 - index / 2 % count,
        };
        let mut posts = BTreeMap::new();
        for (part, table) in [
            ("places", "place"),
            ("events", "event"),
            ("storage-rounds", "storage_round"),
            ("people", "person"),
            ("kit", "kit"),
            ("phones", "phone"),
            ("designs", "design"),
            ("loans", "loan"),
            ("lent", "lent"),
            ("mine", "lent"),
            ("findings", "finding"),
            ("readings", "reading"),
            ("sessions", "session"),
            ("tablets", "tablet"),
            ("tokens", "token"),
            ("bring-in", "sheet"),
            ("photos", "photo"),
            ("charges", "charge"),
            ("charge-logs", "charge_log"),
            ("read-back", "charge_log_waiting"),
            ("reports", "report"),
            ("mails", "mail"),
            ("posters", "poster"),
        ] {
            let ids = club.ids(table).await;
            if let Some(id) = ids.get(at(ids.len())) {
                posts.insert(part, id.to_string());
            }
        }
        let numbers = club
            .find("SELECT number FROM pack ORDER BY number_key")
            .await;
        if let Some(number) = numbers.get(at(numbers.len())) {
            posts.insert("packs", number.clone());
        }
        let codes = club
            .find("SELECT code FROM label WHERE ended_ms IS NULL ORDER BY code")
            .await;
        if let Some(code) = codes.get(at(codes.len())) {
            posts.insert("t", code.clone());
        }
        for (part, codes) in [
            ("p", "SELECT code FROM poster WHERE ended_ms IS NULL"),
            ("reported", "SELECT token FROM report ORDER BY token"),
            (
                "book",
                "SELECT DISTINCT incident FROM book_entry ORDER BY incident",
            ),
            ("files", "SELECT sha256 FROM book_file ORDER BY sha256"),
            (
                "actions",
                "SELECT CAST(seq AS TEXT) FROM book_action ORDER BY seq",
            ),
        ] {
            let codes = club.find(codes).await;
            if let Some(code) = codes.get(at(codes.len())) {
                posts.insert(part, code.clone());
            }
        }
        Self(posts)
    }

    /// The address with its parameters filled in; an id of nothing where nothing is known.
    pub fn fill(&self, path: &str) -> String {
        let mut filled: Vec<String> = Vec::new();
        for part in path.split('/') {
            let is_parameter = part.starts_with('{');
            let before = filled.last().cloned().unwrap_or_default();
            filled.push(match self.0.get(before.as_str()) {
                _ if !is_parameter => part.to_owned(),
                Some(known) => known.clone(),
                None => ids::new_id().to_string(),
            });
        }
        filled.join("/")
    }

    pub const fn to_nothing() -> Self {
        Self(BTreeMap::new())
    }
}

impl TestClub {
    /// Nobody signed in, and somebody for every mixture of roles, a guest without any included.
    pub async fn everybody(&self) -> Vec<(String, Option<Roles>, Browser)> {
        self.found().await;
        let mut all = vec![("a visitor".to_owned(), None, self.visitor())];
        for mixture in 0..8 {
            let holds = |bit: i32| mixture & bit != 0;
            let roles = Roles {
                is_member: holds(1),
                is_quartermaster: holds(2),
                is_organiser: holds(4),
            };
            let name = format!("Robin {mixture}");
            all.push((roles.words(), Some(roles), self.person(&name, roles).await));
        }
        all
    }

    /// Somebody who may use everything.
    pub async fn all_roles(&self) -> Browser {
        self.person("Avery", EVERY_ROLE).await
    }

    /// Sheets on their way of whoever may use everything: to be asked about, wrong, and ready.
    pub async fn sheets_on_their_way(&self) {
        let avery = self.all_roles().await;
        let head = "Number,Design,Chemistry,Cells,Capacity,Connector,Balance,Bought\n";
        for (rows, is_ready) in [
            ("1,Mill 3S 2200,,,,,,03/04/2026", false),
            ("P-x,Nobody's,?,99,much,,,soon\n,,,,,,,", true),
            (",Mill 3S 2200,,,,,,03/04/2026", true),
        ] {
            self.sheet_on_its_way(&avery, &format!("{head}{rows}"), is_ready)
                .await;
        }
    }
}
