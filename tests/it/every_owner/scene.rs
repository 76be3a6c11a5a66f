//! The people who ask, how they ask, and which fresh thing each line of the table is asked about.

mod things;

use super::Line;
use crate::support::*;
use axum::http::Method;
use sandbucket::ids;
use std::sync::atomic::{AtomicUsize, Ordering};

pub const CAST: [&str; 8] = [
    "nobody",
    "the owner",
    "another member",
    "a quartermaster",
    "an organiser",
    "a quartermaster at the tablet",
    "somebody deactivated",
    "somebody whose session ended",
];
/// The owner's name stands on no other thing.
pub const OWNER: &str = "Olwen";

pub struct Scene<'a> {
    club: &'a TestClub,
    browsers: Vec<Browser>,
    /// Lends, reports and looks after everything that needs a second person.
    rosa: Browser,
    avery: Browser,
    made: AtomicUsize,
}

/// What fills the address and the form.
#[derive(Default)]
pub struct Thing {
    id: String,
    finding: String,
    photo: String,
    charger: String,
    token: String,
    new: String,
}

impl<'a> Scene<'a> {
    pub async fn set(club: &'a TestClub) -> Self {
        let rosa = club.second_quartermaster().await;
        let owner = club.with_password(OWNER).await;
        let owner = club.signed_in(owner).await;
        club.induct(&owner).await;
        let other = club.borrower("Otto").await;
        let quinn = club.quartermaster().await;
        let olive = club.organiser().await;
        let tablet = at_a_tablet(club, &rosa).await;
        let gone = club.person("Della", EVERY_ROLE).await;
        let ended = club.person("Enno", EVERY_ROLE).await;
        club.behind_the_back("UPDATE person SET deactivated_ms = 1 WHERE name = 'Della'")
            .await
            .expect("deactivated, the session left");
        let kept = ended.cookie("sandbucket").expect("a session");
        ended.post("/sign-out", &[]).await.done();
        ended.keep_cookie("sandbucket", &kept);
        // Whoever can sign in counts when the last quartermaster would go, and when a second person is asked for.
        club.behind_the_back(
            "UPDATE person SET password_hash = 'none' WHERE is_quartermaster OR is_organiser",
        )
        .await
        .expect("they can sign in");
        let cast = [
            club.visitor(),
            owner,
            other,
            quinn,
            olive,
            tablet,
            gone,
            ended,
        ];
        let browsers = (1_u8..).zip(cast);
        Self {
            club,
            browsers: browsers
                .map(|(at, browser)| browser.at([198, 51, 100, at]))
                .collect(),
            rosa,
            avery: club.all_roles().await,
            made: AtomicUsize::new(0),
        }
    }

    /// Whose the things are.
    pub fn owner_id(&self) -> uuid::Uuid {
        self.browsers[1].id()
    }

    pub const fn club(&self) -> &TestClub {
        self.club
    }

    fn number(&self) -> usize {
        self.made.fetch_add(1, Ordering::Relaxed)
    }

    /// Where the log stands, how many sessions there are, and how sheets and charge logs on their way stand.
    pub async fn pulse(&self) -> Vec<String> {
        let sql = "SELECT CAST(log_seq AS TEXT) || ' ' || (SELECT CAST(COUNT(*) AS TEXT) FROM session) || ' ' || \
            (SELECT CAST(COUNT(*) AS TEXT) || COALESCE(MAX(choices), '') FROM sheet) || ' ' || \
            (SELECT CAST(COUNT(*) AS TEXT) || COALESCE(MAX(choices), '') FROM charge_log_waiting) FROM turn";
        self.club.find(sql).await
    }

    pub async fn ask(&self, at: usize, line: &Line, thing: &Thing) -> Answer {
        self.ask_with(at, line, thing, &[]).await
    }

    /// The same with more fields than the form has.
    pub async fn ask_with(
        &self,
        at: usize,
        line: &Line,
        thing: &Thing,
        more: &[(&str, String)],
    ) -> Answer {
        let (method, path) = line.method_and_path();
        let path = self.filled(path, thing);
        if method == "GET" {
            let path = match line.form {
                "" => path,
                query => format!("{path}?{query}"),
            };
            return self.browsers[at].send(Method::GET, &path, &[], None).await;
        }
        let mut fields = self.fields(line.form, &path, thing).await;
        fields.extend(
            more.iter()
                .map(|(name, value)| ((*name).to_owned(), value.clone())),
        );
        let fields: Vec<(&str, &str)> = fields
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .collect();
        let browser = &self.browsers[at];
        let kept = browser.cookie("sandbucket").unwrap_or_default();
        let answer = browser.post(&path, &fields).await;
        // A link that lets somebody in would make this browser theirs.
        browser.keep_cookie("sandbucket", &kept);
        answer
    }

    /// `@page&name=value`: that page's form, with these values put in.
    async fn fields(&self, form: &str, path: &str, thing: &Thing) -> Vec<(String, String)> {
        let mut parts = form.split('&').filter(|part| !part.is_empty()).peekable();
        let mut held = Vec::new();
        if let Some(page) = parts.next_if(|part| part.starts_with('@')) {
            let page = self.avery.get(&self.filled(&page[1..], thing)).await;
            held = page.form(&format!("form[action='{path}']")).1;
        }
        let typed: Vec<(String, String)> = parts
            .map(|part| part.split_once('=').expect("name=value"))
            .map(|(name, value)| (self.filled(name, thing), self.filled(value, thing)))
            .collect();
        held.retain(|(name, _)| typed.iter().all(|(typed, _)| typed != name));
        held.extend(typed);
        held
    }

    /// With the people the curly brackets stand for.
    pub fn plainly(&self, text: &str) -> String {
        self.filled(text, &Thing::default())
    }

    /// With what the curly brackets stand for.
    pub fn filled(&self, text: &str, thing: &Thing) -> String {
        if text.starts_with("/static/") {
            return sandbucket::web::assets::at("sandbucket.css");
        }
        let (owner, other) = (self.browsers[1].id(), self.browsers[2].id());
        let token = if thing.token.is_empty() {
            ids::new_token()
        } else {
            thing.token.clone()
        };
        [
            ("{id}", thing.id.clone()),
            ("{lent}", thing.id.clone()),
            ("{code}", thing.id.clone()),
            ("{incident}", thing.id.clone()),
            ("{action}", thing.id.clone()),
            ("{number}", thing.id.clone()),
            ("{finding}", thing.finding.clone()),
            ("{photo}", thing.photo.clone()),
            ("{file}", thing.photo.clone()),
            ("{charger}", thing.charger.clone()),
            ("{now_ms}", self.club.now().ms().to_string()),
            ("{now}", self.instant()),
            ("{new}", thing.new.clone()),
            ("{token}", token),
            ("{old}", PASSWORD.to_owned()),
            ("{password}", "nine green lanterns drift".to_owned()),
            ("{owner}", owner.to_string()),
            ("{other}", other.to_string()),
            ("{rosa}", self.rosa.id().to_string()),
        ]
        .iter()
        .fold(text.to_owned(), |text, (from, to)| text.replace(from, to))
    }

    /// A fresh thing that this line's form would change.
    pub async fn thing_for(&self, line: &Line) -> Thing {
        let (method, path) = line.method_and_path();
        let id = match (method, path) {
            (_, "/loans/{id}" | "/loans/{id}/extend") => self.lent("loan_id").await,
            (_, "/lent/{id}/reopen" | "/mine/{lent}/brought-back") => self.taken_back().await,
            (_, "/packs/{number}/mended") => return self.found("wrap_torn").await,
            (_, "/mine/actions/{action}") => self.action().await,
            (_, "/book/{incident}/files/{file}") => return self.filed().await,
            (_, path) if path.starts_with("/book/{incident}") => self.incident().await,
            (_, "/packs/{number}/back") => return self.at_home().await,
            (_, "/packs/{number}/watch") => self.watched().await,
            (_, "/packs/{number}/disposal/photo") => self.disposed().await,
            (_, "/packs/{number}/disposal") => self.retired().await,
            (_, "/packs/{number}/release") => return self.dried().await,
            ("POST", "/packs/{number}/charge") | (_, "/packs/{number}/charge.pdf") => {
                return self.to_charge().await;
            }
            (_, path) if path.starts_with("/charges/") => self.charging().await,
            (_, path) if path.contains("/photos/") => return self.with_photo().await,
            (_, path) if path.starts_with("/charge-logs/read-back/") => self.log_on_its_way().await,
            (_, path) if path.starts_with("/charge-logs/") => self.charge_log().await,
            (_, path) if path.starts_with("/t/{code}") => self.labelled("code").await,
            (_, "/p/{code}") => self.poster("code").await,
            (_, path) if path.starts_with("/posters/") => self.poster("id").await,
            (_, path) if path.starts_with("/reports") => self.report().await,
            (_, "/reported/{token}") => return self.reported().await,
            (_, "/confirm-address/{token}") => return self.asked_to_confirm().await,
            (_, "/mails/{id}" | "/unsubscribe/{token}") => return self.mailed().await,
            (_, "/packs/{number}/label" | "/packs/{number}/label.svg") => {
                self.labelled("(SELECT number FROM pack WHERE id = pack_id)")
                    .await
            }
            (_, "/packs/{number}/way-out" | "/packs/{number}/details") => self.pack().await,
            (_, "/kit/{id}") => self.lent_kit().await,
            (_, "/kit/{id}/mend") => self.kit_set_aside().await,
            (_, "/kit/{id}/looked-over") => self.kit_unchecked().await,
            (_, "/me/sessions/{id}/end") => self.session().await,
            (_, "/me/tokens/{id}/end") => self.token().await,
            (_, "/me/phones/{id}/end") => self.phone().await,
            (_, "/tablets/{id}/end") => new_tablet(self.club, &self.rosa).await,
            (_, "/calendar/{token}") => return self.calendar().await,
            (_, "/join/{token}" | "/reset/{token}") => {
                return self.link(&path[1..path.len() - 8]).await;
            }
            (_, path) if path.starts_with("/bring-in/") => self.sheet(path).await,
            (_, "/hand-out" | "/labels" | "/gather" | "/readings/many" | "/storage-rounds/new") => {
                self.pack().await
            }
            (_, "/night") => self.place().await,
            (_, path) if path.starts_with("/storage-rounds/") => return self.round().await,
            (_, "/events/{id}/call-off") => self.event(["2026-12-05", "2026-12-06"]).await,
            (_, path) if path.starts_with("/events/") => {
                self.event(["2026-11-25", "2026-11-26"]).await
            }
            (_, "/packs") => self.last("design").await,
            (_, path)
                if ["/lent/", "/mine/", "/take-back/"]
                    .iter()
                    .any(|part| path.starts_with(part)) =>
            {
                self.lent("id").await
            }
            (_, path) if path.starts_with("/packs/") => {
                self.lent("(SELECT number FROM pack WHERE id = pack_id)")
                    .await
            }
            (_, path) if path.starts_with("/kit/") => self.adapters().await,
            (_, "/places/{id}/reopen") => self.closed_place().await,
            (_, path) if path.starts_with("/connectors/{") => self.connector().await,
            (_, path) if path.starts_with("/places/") => self.place().await,
            (_, path) if path.starts_with("/designs/") => {
                self.club.new_packs(0).await;
                self.last("design").await
            }
            (_, path) if path.starts_with("/people/") => self.person(line).await,
            _ => String::new(),
        };
        Thing {
            id,
            new: format!("new-{}", self.number()),
            ..Thing::default()
        }
    }

    /// As programs are told it.
    fn instant(&self) -> String {
        let now = jiff::Timestamp::from_millisecond(self.club.now().ms());
        now.expect("an instant").to_string()
    }

    async fn last(&self, table: &str) -> String {
        let ids = self.club.ids(table).await;
        ids.last().expect("one was made").to_string()
    }
}

async fn new_tablet(club: &TestClub, by: &Browser) -> String {
    let id = ids::new_id();
    let sql = format!(
        "INSERT INTO tablet (id, name, token_hash, opened_by, opened_ms) VALUES ({}, 'Table', '{}', {}, 1)",
        club.literal(id),
        ids::digest(&id.to_string()),
        club.literal(by.id())
    );
    club.behind_the_back(&sql).await.expect("a tablet");
    id.to_string()
}

/// A quartermaster and organiser who changed over at the shared tablet.
async fn at_a_tablet(club: &TestClub, by: &Browser) -> Browser {
    let tamsin = club.person("Tamsin", EVERY_ROLE).await;
    let tablet = new_tablet(club, by).await.parse().expect("an id");
    let sql = format!(
        "UPDATE session SET tablet_id = {} WHERE person_id = {}",
        club.literal(tablet),
        club.literal(tamsin.id())
    );
    club.behind_the_back(&sql).await.expect("at the tablet");
    tamsin
}
