//! The people of the Millrace Robotics Club, each with a browser that is signed in. They are put into the register
//! directly, without a password (hashing one takes tens of milliseconds); `start` and `with_password` do the real thing.

use super::{Answer, Browser, TestClub};
use sandbucket::actions::{set_up, sign_in};
use sandbucket::club::people::Roles;
use sandbucket::ids;
use sandbucket::store::club;
use sandbucket::store::people::{self, Person};
use uuid::Uuid;

pub const PASSWORD: &str = "seven copper kettles whistle";

const MEMBER: Roles = Roles {
    is_member: true,
    is_quartermaster: false,
    is_organiser: false,
};
const QUARTERMASTER: Roles = Roles {
    is_member: false,
    is_quartermaster: true,
    is_organiser: false,
};
const ORGANISER: Roles = Roles {
    is_member: false,
    is_quartermaster: false,
    is_organiser: true,
};

impl TestClub {
    /// The form of the first page, filled in right.
    pub fn first_form(&self) -> Vec<(&'static str, String)> {
        vec![
            ("code", self.app.set_up_code()),
            ("kind", "club".to_owned()),
            ("club", "Millrace Robotics Club".to_owned()),
            ("zone", "Europe/London".to_owned()),
            ("name", "Quinn Marlow".to_owned()),
            ("sign_in", "quinn".to_owned()),
            ("password", PASSWORD.to_owned()),
        ]
    }

    pub async fn send_first_form(&self, browser: &Browser, form: &[(&str, String)]) -> Answer {
        let fields: Vec<(&str, &str)> = form.iter().map(|(k, v)| (*k, v.as_str())).collect();
        browser.post("/start", &fields).await
    }

    /// Starts the club by its first page: Quinn Marlow, quartermaster and organiser, at a browser.
    pub async fn start(&self) -> Browser {
        let mut browser = self.visitor();
        let answer = self.send_first_form(&browser, &self.first_form()).await;
        assert_eq!(answer.done(), "/");
        let mut conn = self.app.db.read().await.expect("a connection");
        let quinn = people::by_sign_in(&mut conn, "quinn")
            .await
            .expect("people");
        let quinn = quinn.expect("the first person").id;
        let mut people = self.people.lock().expect("people");
        people.insert("Quinn".to_owned(), quinn);
        browser.person_id = Some(quinn);
        browser
    }

    /// Somebody nobody knows.
    pub fn visitor(&self) -> Browser {
        Browser::new(&self.app, None)
    }

    pub async fn quartermaster(&self) -> Browser {
        self.person("Quinn", QUARTERMASTER).await
    }

    /// One more who runs the pool: a release needs a second person.
    pub async fn second_quartermaster(&self) -> Browser {
        self.person("Rosa", QUARTERMASTER).await
    }

    pub async fn organiser(&self) -> Browser {
        self.person("Olive", ORGANISER).await
    }

    pub async fn member(&self, name: &str) -> Browser {
        self.person(name, MEMBER).await
    }

    /// Somebody with these roles, signed in; the same person when the name was used before.
    pub async fn person(&self, name: &str, roles: Roles) -> Browser {
        let known = self.people.lock().expect("people").get(name).copied();
        let id = match known {
            Some(id) => id,
            None => self.enrol(name, roles, None).await,
        };
        self.signed_in(id).await
    }

    /// A member who can sign in with `name` in small letters and [`PASSWORD`].
    pub async fn with_password(&self, name: &str) -> Uuid {
        let hash = self.app.hasher.hash(PASSWORD).await;
        self.enrol(name, MEMBER, hash).await
    }

    async fn enrol(&self, name: &str, roles: Roles, password_hash: Option<String>) -> Uuid {
        self.found().await;
        let person = Person {
            id: ids::new_id(),
            name: Some(name.to_owned()),
            sign_in: Some(name.to_lowercase()),
            password_hash,
            table_code_hash: None,
            is_member: roles.is_member,
            is_quartermaster: roles.is_quartermaster,
            is_organiser: roles.is_organiser,
            responsible_id: None,
            created_ms: self.now(),
            deactivated_ms: None,
            erased_ms: None,
        };
        let mut tx = self.app.db.write().await.expect("the turn to write");
        people::add(&mut tx, &person).await.expect("a new person");
        tx.save().await.expect("saved");
        let mut people = self.people.lock().expect("people");
        people.insert(name.to_owned(), person.id);
        person.id
    }

    /// A browser with a session of `person_id`.
    pub async fn signed_in(&self, person_id: Uuid) -> Browser {
        let begun = sign_in::begin_session(&self.app.db, person_id, "a browser", self.now()).await;
        let browser = Browser::new(&self.app, Some(person_id));
        let name = match self.app.settings.is_https() {
            true => "__Host-sandbucket",
            false => "sandbucket",
        };
        browser.keep_cookie(name, &begun.expect("a session"));
        browser
    }

    /// The club stands from here on, whoever started it.
    pub async fn found(&self) {
        let mut tx = self.app.db.write().await.expect("the turn to write");
        if club::read(&mut tx).await.expect("the club").is_none() {
            let name = "Millrace Robotics Club";
            let settings = set_up::first_settings(name, "Europe/London", false, self.now());
            club::start(&mut tx, &settings).await.expect("a club");
        }
        tx.save().await.expect("saved");
    }
}
