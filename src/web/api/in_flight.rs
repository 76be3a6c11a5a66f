//! The key of a request: whether it was carried out under it before, and while it is being carried out by this program, the
//! same key is told to wait.

use super::done::Done;
use super::trouble::{Kind, Trouble};
use crate::app::App;
use crate::bench::form::Fields;
use crate::ids;
use crate::store::keys;
use crate::web::visit::SignedIn;
use axum::http::HeaderMap;
use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};

type Keys = Arc<Mutex<HashSet<String>>>;

#[derive(Default)]
pub struct InFlight(Keys);

/// While it lives, the key is taken.
pub struct Flight {
    keys: Keys,
    key: String,
}

impl InFlight {
    /// None: it is being carried out already.
    pub fn begin(&self, key: &str) -> Option<Flight> {
        let is_new = self
            .0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(key.to_owned());
        is_new.then(|| Flight {
            keys: Arc::clone(&self.0),
            key: key.to_owned(),
        })
    }
}

impl Drop for Flight {
    fn drop(&mut self) {
        let mut keys = self.keys.lock().unwrap_or_else(PoisonError::into_inner);
        keys.remove(&self.key);
    }
}

/// What the key of a request comes to.
pub(super) enum Begun {
    /// It is carried out; while the flight lives, the key is taken. What its first form was answered when it came before.
    Goes(Option<Flight>, Option<String>),
    /// It was carried out before. Whatever became of its things since then, the answer is the one that was given.
    Answered(Done),
}

pub(super) async fn begin(app: &App, key: Option<&str>, fields: &Fields) -> Result<Begun, Trouble> {
    let Some(key) = key else {
        return Ok(Begun::Goes(None, None));
    };
    let flight = app.keys_in_flight.begin(key).ok_or_else(still_running)?;
    let given = keys::answered(&mut app.db.read().await?, key).await?;
    if given
        .as_ref()
        .is_some_and(|given| given.body_hash != fields.body_hash())
    {
        let words = "This key was sent before with another request. Take a new one.";
        return Err(Trouble::new(Kind::OtherBody, words));
    }
    let before = given.map(|given| given.answer);
    Ok(match before.as_deref().and_then(Done::kept) {
        Some(done) => Begun::Answered(done),
        None => Begun::Goes(Some(flight), before),
    })
}

fn still_running() -> Trouble {
    let words = "A request under this key is still being carried out. Ask again in a moment.";
    Trouble::new(Kind::StillRunning, words)
}

const LONGEST_KEY: usize = 200;

/// Everybody's keys are their own.
pub(super) fn key_of(headers: &HeaderMap, who: &SignedIn) -> Result<Option<String>, Trouble> {
    let Some(key) = headers.get("idempotency-key") else {
        return Ok(None);
    };
    let key = key.to_str().unwrap_or_default();
    if key.is_empty() || key.len() > LONGEST_KEY {
        let words = format!("An Idempotency-Key has 1 to {LONGEST_KEY} letters of ASCII.");
        return Err(Trouble::new(Kind::Unreadable, words));
    }
    let whole = format!("{} {key}", who.me.person_id);
    Ok(Some(format!("api {}", ids::digest(&whole))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_taken_while_its_request_is_carried_out_and_free_afterwards() {
        let flights = InFlight::default();
        let first = flights.begin("a").expect("free");
        assert!(flights.begin("a").is_none());
        assert!(flights.begin("b").is_some());
        drop(first);
        assert!(flights.begin("a").is_some());
    }
}
