//! What every page and task is handed: database, clock, settings, limits. And the whole router, as main and tests use it.

use crate::actions::passwords::Hasher;
use crate::clock::Clock;
use crate::config::Settings;
use crate::ids;
use crate::store::Db;
use crate::web;
use std::sync::{
    Arc, Mutex, PoisonError,
    atomic::{AtomicBool, Ordering},
};

#[derive(Clone)]
pub struct App(Arc<Parts>);

pub struct Parts {
    pub db: Db,
    pub clock: Clock,
    pub settings: Settings,
    pub hasher: Hasher,
    pub limits: web::limits::Limits,
    set_up_code: Mutex<String>,
    /// What the first form was answered with. Held while it is carried out, so that the same form sent twice waits for
    /// the one answer, and then until somebody signs in; never stored.
    pub first_answer: tokio::sync::Mutex<Option<web::first::Started>>,
    /// Held while a document is set for print or a photo is made: one after the other, since each takes memory.
    pub press: Arc<tokio::sync::Mutex<()>>,
    /// Keys of requests of the API that are being carried out.
    pub keys_in_flight: web::api::InFlight,
    is_draining: AtomicBool,
}

impl std::ops::Deref for App {
    type Target = Parts;
    fn deref(&self) -> &Parts {
        &self.0
    }
}

impl App {
    pub fn new(db: Db, clock: Clock, settings: Settings) -> Self {
        Self(Arc::new(Parts {
            db,
            clock,
            settings,
            hasher: Hasher::new(),
            limits: web::limits::Limits::new(),
            set_up_code: Mutex::new(ids::new_code(3)),
            first_answer: tokio::sync::Mutex::default(),
            press: Arc::default(),
            keys_in_flight: web::api::InFlight::default(),
            is_draining: AtomicBool::new(false),
        }))
    }

    pub fn router(&self) -> axum::Router {
        web::router(self)
    }
}

impl Parts {
    /// The code that lets the first person in; only good while there is no club.
    pub fn set_up_code(&self) -> String {
        let held = self.set_up_code.lock();
        held.unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Another code than the one somebody may have seen, when there is no club any more.
    pub fn renew_set_up_code(&self) {
        let mut held = self
            .set_up_code
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *held = ids::new_code(3);
    }

    /// What the console says while there is no club.
    pub fn set_up_words(&self) -> String {
        let (base, code) = (self.settings.public_base(), self.set_up_code());
        format!("Start the club at {base} with this set-up code: {code}")
    }

    pub fn start_draining(&self) {
        self.is_draining.store(true, Ordering::Relaxed);
    }

    pub fn is_draining(&self) -> bool {
        self.is_draining.load(Ordering::Relaxed)
    }
}
