//! The stage of every test: a club on a database of its own, with a clock that stands still until it is moved.
//! `on_both!` says each test once and runs it on SQLite and on PostgreSQL. People come with a browser in hand.

mod answer;
mod browser;
mod chargers;
mod ground;
mod people;
mod post;
mod push;
mod round;
mod rounds;
mod served;
mod server;
mod stock;

#[allow(unused_imports, reason = "each play takes what it needs")]
pub use {
    answer::*, browser::*, ground::*, people::PASSWORD, post::*, push::*, round::*, rounds::*,
    served::*, server::*,
};

use sandbucket::app::App;
use sandbucket::clock::Clock;
use sandbucket::club::calendar::Instant;
use sandbucket::config::{LogFormat, Settings};
use std::collections::{BTreeMap, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::{Arc, Mutex};
use uuid::Uuid;

/// Wed 25 Nov 2026, 18:30 UTC: a club night.
pub const NIGHT: Instant = Instant(1_795_631_400_000);

/// A test is said once, as `async fn a_sentence(club: TestClub) { … }`, and runs in the modules `sqlite` and `postgres`.
macro_rules! on_both {
    ($($(#[$meta:meta])* async fn $name:ident($club:ident: $kind:ty) $body:block)*) => {
        mod said {
            #[allow(unused_imports)]
            use super::*;
            $(pub async fn $name($club: $kind) $body)*
        }
        mod sqlite {
            $(#[test] $(#[$meta])* fn $name() { $crate::support::run($crate::support::Backend::Sqlite, super::said::$name); })*
        }
        mod postgres {
            $(#[test] $(#[$meta])* fn $name() { $crate::support::run($crate::support::Backend::Postgres, super::said::$name); })*
        }
    };
}

/// Plays one test on a fresh ground and clears the ground afterwards, also when the test failed.
pub fn run<F: Future<Output = ()>>(backend: Backend, test: impl FnOnce(TestClub) -> F) {
    backend.must_be_here();
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let club = runtime.block_on(TestClub::new(backend));
    let (ground, db) = (club.ground.clone(), club.app.db.clone());
    let outcome = catch_unwind(AssertUnwindSafe(|| runtime.block_on(test(club))));
    runtime.block_on(async {
        db.close().await;
        ground.clear().await;
    });
    if let Err(panic) = outcome {
        resume_unwind(panic);
    }
}

pub struct TestClub {
    pub backend: Backend,
    pub app: App,
    pub clock: Clock,
    pub(crate) ground: Arc<Ground>,
    people: Mutex<HashMap<String, Uuid>>,
}

impl TestClub {
    /// A migrated, empty database and a program on top; there is no club in it yet.
    pub async fn new(backend: Backend) -> Self {
        let ground = Arc::new(Ground::new(backend).await);
        let clock = Clock::held_at(NIGHT);
        let app = App::new(ground.open().await, clock.clone(), settings(&ground.url));
        Self {
            backend,
            app,
            clock,
            ground,
            people: Mutex::default(),
        }
    }

    /// Where the database is, for a second connection of one's own.
    pub fn url(&self) -> &str {
        &self.ground.url
    }

    pub fn now(&self) -> Instant {
        self.clock.now()
    }

    pub fn later_by_minutes(&self, minutes: i64) {
        self.clock.set(self.clock.now().plus_minutes(minutes));
    }

    pub fn later_by_days(&self, days: i64) {
        self.clock.set(self.clock.now().plus_days(days));
    }

    /// The same database behind a program with other settings.
    pub fn with_settings(&self, change: impl FnOnce(&mut Settings)) -> App {
        let mut settings = self.app.settings.clone();
        change(&mut settings);
        App::new(self.app.db.clone(), self.clock.clone(), settings)
    }

    /// Runs SQL past the program, as somebody with the file or the database's password could.
    pub async fn behind_the_back(&self, sql: &str) -> Result<u64, sqlx::Error> {
        self.ground.run(sql).await
    }

    /// The first column, as text, of every row that `sql` finds.
    pub async fn find(&self, sql: &str) -> Vec<String> {
        self.ground.find(sql).await
    }

    pub async fn ids(&self, table: &str) -> Vec<Uuid> {
        self.ground.ids(table).await
    }

    /// Everything in each table: to see that nothing changed.
    pub async fn contents(&self) -> BTreeMap<String, Vec<String>> {
        self.ground.contents().await
    }

    pub async fn is_sound(&self) -> bool {
        self.ground.is_sound().await
    }

    pub fn literal(&self, id: Uuid) -> String {
        self.ground.literal(id)
    }

    /// How many statements the program runs while `work` is done.
    pub async fn queries_of<T>(&self, work: impl Future<Output = T>) -> (T, u64) {
        let before = self.app.db.queries_run();
        let done = work.await;
        (done, self.app.db.queries_run() - before)
    }
}

pub fn settings(database_url: &str) -> Settings {
    Settings {
        listen: ([127, 0, 0, 1], 8080).into(),
        public_url: None,
        database_url: database_url.to_owned(),
        create_database: false,
        trusted_proxies: Vec::new(),
        smtp_url: None,
        smtp_plain: false,
        mail_lease: 120,
        authorities: None,
        push_networks: Vec::new(),
        log: LogFormat::Text,
    }
}

/// How many rounds a slow proof does: a share in every run, the full count with `SANDBUCKET_LONG=1`.
pub fn share(short: usize, long: usize) -> usize {
    if is_long() { long } else { short }
}

pub fn is_long() -> bool {
    variable("SANDBUCKET_LONG").is_some()
}

/// New dice each run, or those of `SANDBUCKET_TEST_SEED`.
pub fn seed() -> u64 {
    let given = variable("SANDBUCKET_TEST_SEED").and_then(|text| text.parse().ok());
    given.unwrap_or_else(|| {
        u64::from_str_radix(&sandbucket::ids::new_token()[..12], 16).unwrap_or(1)
    })
}

/// Tells how many rounds a slow proof did: in the file `SANDBUCKET_PROOF_LOG` names, else on the terminal.
pub fn tell_rounds(line: &str) {
    use std::io::Write;
    let told = match variable("SANDBUCKET_PROOF_LOG") {
        Some(file) => std::fs::OpenOptions::new()
            .create(true)
            .append(true)
            .open(file)
            .and_then(|mut file| writeln!(file, "{line}")),
        None => writeln!(std::io::stderr(), "{line}"),
    };
    told.expect("the rounds are told");
}
