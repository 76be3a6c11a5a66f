//! Who is looking, at which club, when. Worked out once by the gate for each request; every handler is handed it.

use crate::actions::{By, FormKey};
use crate::bench::typed::Words;
use crate::club::calendar::{Instant, Zone};
use crate::club::people::{Actor, Role};
use crate::store::club::Club;
use crate::store::sessions::Me;
use crate::web::assets;
use crate::web::fields::Fields;
use crate::web::page::PageError;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;

#[derive(Clone, Debug)]
pub struct Visit {
    pub now: Instant,
    pub club: Option<Club>,
    pub me: Option<Me>,
    pub zone: Zone,
    /// Neither https nor this very machine: what is typed can be read in the hall's network.
    pub is_plain_http: bool,
    /// What a link begins with that is shown in answer to this.
    pub base: String,
    pub path: String,
    /// A report is sent with this: whoever is turned away is told to tell a person.
    pub is_report: bool,
    /// The asking browser's network (IPv6: its /64), for limits.
    pub network: std::net::IpAddr,
    /// A program asks with a token: nobody typed a password.
    pub is_by_token: bool,
    /// On a shared tablet: its name.
    pub tablet: Option<String>,
    /// The browser was once made a table's tablet: whoever is not signed in is asked there.
    pub is_at_table: bool,
}

impl<S: Sync> FromRequestParts<S> for Visit {
    type Rejection = PageError;
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, PageError> {
        parts
            .extensions
            .get::<Self>()
            .cloned()
            .ok_or(PageError::NotFound)
    }
}

/// A visit by somebody who is signed in, at a club that exists.
#[derive(Clone, Debug)]
pub struct SignedIn {
    pub visit: Visit,
    pub me: Me,
    pub club: Club,
}

impl std::ops::Deref for SignedIn {
    type Target = Visit;
    fn deref(&self) -> &Visit {
        &self.visit
    }
}

impl SignedIn {
    pub fn actor(&self) -> Actor {
        Actor {
            id: self.me.person_id,
            roles: self.me.roles(),
        }
    }

    /// Who acts, with the one-time key of the form that was sent.
    pub fn by(&self, fields: &Fields) -> By {
        let key = fields.text("key");
        By {
            actor: self.actor(),
            // A token stands for the session that there is not.
            token_id: self.is_by_token.then_some(self.me.session_id),
            at: self.now,
            club: self.club.clone(),
            zone: self.zone.clone(),
            key: (!key.is_empty()).then(|| FormKey {
                key,
                body_hash: fields.body_hash(),
            }),
        }
    }

    /// How this club writes numbers: the one way to volts on a page.
    pub const fn numbers(&self) -> Words {
        self.club.numbers()
    }

    pub fn has(&self, role: Role) -> bool {
        self.me.roles().has(role)
    }

    /// Sees everything of the pool, whether or not they may change it.
    pub fn oversees(&self) -> bool {
        let roles = [Role::Quartermaster, Role::Organiser];
        self.me.roles().has_any(&roles)
    }
}

impl Visit {
    /// Somebody who does not say who they are acts, with the one-time key of the form that was sent. None: there is no club.
    pub fn by_nobody(&self, fields: &Fields) -> Option<By> {
        let key = fields.text("key");
        Some(By {
            actor: Actor::NOBODY,
            token_id: None,
            at: self.now,
            club: self.club.clone()?,
            zone: self.zone.clone(),
            key: (!key.is_empty()).then(|| FormKey {
                key,
                body_hash: fields.body_hash(),
            }),
        })
    }

    /// Whoever is signed in, at a club that exists.
    pub fn signed_in(self) -> Option<SignedIn> {
        match (self.me.clone(), self.club.clone()) {
            (Some(me), Some(club)) => Some(SignedIn {
                visit: self,
                me,
                club,
            }),
            _ => None,
        }
    }
}

impl<S: Sync> FromRequestParts<S> for SignedIn {
    type Rejection = PageError;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, PageError> {
        let visit = Visit::from_request_parts(parts, state).await?;
        visit.signed_in().ok_or(PageError::SignInFirst)
    }
}

/// What stands around every page: name of the club, the way round, who is signed in.
#[derive(Clone, Debug)]
pub struct Shell {
    pub title: String,
    pub club_name: String,
    pub is_plain_http: bool,
    /// The demo club; `may_end_demo` when this person may end it.
    pub is_demo: bool,
    pub may_end_demo: bool,
    pub is_error: bool,
    pub nav: Vec<Door>,
    pub who: Option<String>,
    pub tablet: Option<String>,
    pub css: String,
    /// Reports that nobody has read, for those who run the pool.
    pub unread_reports: i64,
    /// Packs in quarantine to look at now, for them.
    pub looks_due: i64,
    /// Charges to stop now: all, or those that the person stays with.
    pub to_stop: i64,
    /// For the form that signs out: where it came from does not matter.
    pub is_signed_in: bool,
}

#[derive(Clone, Debug)]
pub struct Door {
    pub href: &'static str,
    pub label: &'static str,
    pub is_current: bool,
}

impl Visit {
    pub fn shell(&self, title: impl Into<String>) -> Shell {
        let overseer = self.me.as_ref().filter(|me| me.roles().may_see_holders());
        Shell {
            title: title.into(),
            club_name: self
                .club
                .as_ref()
                .map_or("Sandbucket", |club| &club.name)
                .to_owned(),
            is_plain_http: self.is_plain_http,
            is_demo: self.club.as_ref().is_some_and(|club| club.is_demo),
            may_end_demo: self.runs_the_club(),
            is_error: false,
            nav: self.doors(),
            who: self.me.as_ref().map(|me| me.name.clone()),
            tablet: self.tablet.clone(),
            css: assets::at("sandbucket.css"),
            unread_reports: overseer.map_or(0, |me| me.unread_reports),
            looks_due: overseer.map_or(0, |me| me.looks_due),
            to_stop: self.me.as_ref().map_or(0, |me| me.to_stop),
            is_signed_in: self.me.is_some(),
        }
    }

    /// The same page after a refused form.
    pub fn shell_refused(&self, title: impl Into<String>) -> Shell {
        Shell {
            is_error: true,
            ..self.shell(title)
        }
    }

    fn runs_the_club(&self) -> bool {
        let roles = [Role::Quartermaster, Role::Organiser];
        let runs = |me: &Me| me.tablet_name.is_none() && me.roles().has_any(&roles);
        self.me.as_ref().is_some_and(runs)
    }

    /// The pages this person may use, in the order of the evening.
    fn doors(&self) -> Vec<Door> {
        const DOORS: [(&str, &str, &[Role]); 15] = [
            (
                "/to-see-to",
                "To see to",
                &[Role::Quartermaster, Role::Organiser],
            ),
            ("/mine", "What I have", &[Role::Member]),
            ("/packs", "Packs", &Role::ALL),
            ("/hand-out", "Hand out", &[Role::Quartermaster]),
            ("/take-back", "Take back", &[Role::Quartermaster]),
            (
                "/storage-rounds",
                "Storage round",
                &[Role::Quartermaster, Role::Organiser],
            ),
            ("/loans", "Out now", &[Role::Quartermaster, Role::Organiser]),
            ("/charges", "Charging", &Role::ALL),
            ("/kit", "Kit", &Role::ALL),
            ("/events", "Events", &[Role::Quartermaster, Role::Organiser]),
            ("/places", "Places", &[Role::Quartermaster, Role::Organiser]),
            ("/people", "People", &[Role::Quartermaster, Role::Organiser]),
            (
                "/reports",
                "Reports",
                &[Role::Quartermaster, Role::Organiser],
            ),
            (
                "/book",
                "Incident book",
                &[Role::Quartermaster, Role::Organiser],
            ),
            ("/log", "Log", &[Role::Organiser]),
        ];
        let Some(me) = &self.me else {
            return Vec::new();
        };
        DOORS
            .into_iter()
            .filter(|(_, _, roles)| me.roles().has_any(roles))
            .map(|(href, label, _)| Door {
                href,
                label,
                is_current: self.path == href || self.path.starts_with(&format!("{href}/")),
            })
            .collect()
    }
}
