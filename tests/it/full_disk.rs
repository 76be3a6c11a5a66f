//! The real program on a disk that is full: changes are refused in plain words, looking goes on, nothing is lost or torn,
//! and it goes on by itself once there is room. On SQLite a test is played once more in a mount namespace of its own, where
//! the folder for temporary files is a disk of a few megabytes; it is gone with its last process, however that ends.

use crate::support::*;
use sandbucket::clock::Clock;
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::net::SocketAddr;
use std::path::Path;
use std::process::Command;

/// Set where the test is played on its small disk.
const IS_THERE: &str = "SANDBUCKET_TEST_SMALL_DISK";
const DISK_MB: u64 = 8;
const PAGE_BYTES: u64 = 4096;

/// Root may mount as it is; anybody else, in containers root too, as the root of users of their own.
const WAYS: [&[&str]; 2] = [&["--mount"], &["--mount", "--map-root-user"]];

/// A command with the small disk mounted on `folder`.
fn on_small_disk(way: &[&str], folder: &Path) -> Command {
    let mount = format!("mount -t tmpfs -o size={DISK_MB}m none \"$TMPDIR\" && exec \"$0\" \"$@\"");
    let mut command = Command::new("unshare");
    command.args(way).args(["sh", "-c", &mount]);
    command.env("TMPDIR", folder).env(IS_THERE, "1");
    command
}

fn play<F: Future<Output = ()>>(name: &str, test: impl FnOnce(TestClub) -> F) {
    if variable(IS_THERE).is_some() {
        return run(Backend::Sqlite, test);
    }
    let folder = new_folder();
    let mounts = |way: &&&[&str]| {
        let tried = on_small_disk(way, &folder).arg("true").output();
        tried.is_ok_and(|tried| tried.status.success())
    };
    let way = WAYS.iter().find(mounts).expect(
        "this test fills a small disk of its own: it needs the programs unshare and mount, and root or a system that lets \
         everybody have mount namespaces",
    );
    let program = std::env::current_exe().expect("this program");
    let played = on_small_disk(way, &folder)
        .arg(program)
        .args(["--exact", name, "--nocapture"])
        .output()
        .expect("played");
    std::fs::remove_dir(&folder).expect("tidied up");
    let told = String::from_utf8_lossy(&played.stdout);
    let complaints = String::from_utf8_lossy(&played.stderr);
    let is_played = played.status.success() && told.contains("1 passed");
    assert!(is_played, "{told}\n{complaints}");
}

/// A file that takes all the room there is, or all but some pages.
struct Filler(File);

impl Filler {
    fn new(folder: &Path) -> Self {
        let mut file = File::create(folder.join("filler")).expect("a file");
        let page = [7; PAGE_BYTES as usize];
        let error = (0..DISK_MB << 20)
            .step_by(page.len())
            .find_map(|_| file.write_all(&page).err())
            .expect("the disk is the small one");
        assert_eq!(error.kind(), ErrorKind::StorageFull);
        Self(file)
    }

    fn give_back(&self, pages: u64) {
        let held = self.0.metadata().expect("a size").len();
        let kept = held.saturating_sub(pages * PAGE_BYTES);
        self.0.set_len(kept).expect("some room");
    }

    fn give_all_back(&self) {
        self.0.set_len(0).expect("room");
    }
}

/// The program on the small disk, and somebody who asks it.
struct Hall {
    at: SocketAddr,
    server: Server,
    cookie: String,
    /// Of somebody who has not looked for an hour: that they look now would be noted.
    long_unseen: String,
    /// Every page, at a real address.
    pages: Vec<String>,
    acknowledged: Vec<String>,
    next: u32,
}

impl Hall {
    async fn open(club: &TestClub) -> Self {
        club.clock.set(Clock::System.now());
        club.in_full_swing(6).await;
        let (avery, olive) = (club.all_roles().await, club.organiser().await);
        let unseen = format!(
            "UPDATE session SET seen_ms = seen_ms - 3600000 WHERE person_id = {}",
            club.literal(olive.id())
        );
        club.behind_the_back(&unseen).await.expect("an hour ago");
        let posts = Signposts::real(club).await;
        let pages = every_page()
            .into_iter()
            .map(|(_, path, _)| posts.fill(path));
        let pages = pages.collect();
        let acknowledged = club.find("SELECT volts FROM reading").await;
        // From here on nobody but the program holds the database open.
        club.app.db.close().await;
        let at = free_address();
        Self {
            at,
            server: Server::start(club.url(), at).await,
            cookie: avery.cookie("sandbucket").expect("a session"),
            long_unseen: olive.cookie("sandbucket").expect("a session"),
            pages,
            acknowledged,
            next: 0,
        }
    }

    /// Logs volts that no other write logs; whether that was acknowledged.
    async fn logs_volts(&mut self) -> bool {
        let (status, answer) = self.send_volts(self.next).await;
        match status {
            303 => {
                let (one, other) = cells_of(self.next);
                self.acknowledged.push(format!("c:{one},{other},3800"));
                self.next += 1;
                true
            }
            503 => {
                is_told_plainly(&answer);
                false
            }
            _ => panic!("{status}: {answer}"),
        }
    }

    async fn send_volts(&self, number: u32) -> (u16, String) {
        let (one, other) = cells_of(number);
        let form = urlencoded(&[
            ("volts_line", &format!("{one} {other} 3800")),
            ("rested", "rested_an_hour"),
            ("key", &format!("volts-{number}")),
        ]);
        let line = "POST /packs/P-001/volts HTTP/1.1";
        send(self.at, line, &self.cookie, &form)
            .await
            .expect("an answer")
    }

    async fn look(&self, path: &str, cookie: &str) -> (u16, String) {
        let line = format!("GET {path} HTTP/1.1");
        send(self.at, &line, cookie, "").await.expect("an answer")
    }

    async fn shows_every_page(&self) {
        for path in &self.pages {
            let (status, page) = self.look(path, &self.cookie).await;
            assert!(status < 500, "{path}: {status} {page}");
        }
        for cookie in [&self.cookie, &self.long_unseen] {
            let (status, list) = self.look("/packs", cookie).await;
            assert!(status == 200 && list.contains("P-001"), "{status} {list}");
        }
    }

    /// Nothing that was acknowledged is lost or doubled, nothing that was refused is there, and nothing is torn.
    async fn holds_its_word(&self, club: &TestClub) {
        let (_, check) = self.look("/log/check", &self.cookie).await;
        assert!(check.contains("The log holds"), "{check}");
        assert!(club.is_sound().await);
        let mut kept = club.find("SELECT volts FROM reading").await;
        let mut acknowledged = self.acknowledged.clone();
        kept.sort_unstable();
        acknowledged.sort_unstable();
        assert_eq!(kept, acknowledged);
    }
}

/// 3.700 to 3.889 V.
fn cells_of(number: u32) -> (u32, u32) {
    (3700 + number % 190, 3700 + number / 190 % 190)
}

fn is_told_plainly(answer: &str) {
    let (head, page) = answer.split_once("\r\n\r\n").expect("head and body");
    assert!(head.contains("retry-after: "), "{head}");
    assert!(page.contains("disk is full. Nothing was changed"), "{page}");
    let page = page.to_lowercase();
    for inner in ["sqlite", "(code", "database", "i/o", "panick", ".rs"] {
        assert!(!page.contains(inner), "{inner}: {page}");
    }
}

async fn on_a_full_disk(club: TestClub) {
    let mut hall = Hall::open(&club).await;
    assert!(hall.logs_volts().await);
    let filler = Filler::new(&new_folder());
    for _ in 0..5 {
        assert!(!hall.logs_volts().await, "there was room");
    }
    hall.shows_every_page().await;
    // Too little room, so that a write is begun and can't be finished.
    let mut written = 0;
    for _ in 0..40 {
        filler.give_back(1);
        written += u32::from(hall.logs_volts().await);
    }
    assert!((1..40).contains(&written), "{written} of 40 found room");
    hall.shows_every_page().await;
    filler.give_all_back();
    for _ in 0..5 {
        assert!(hall.logs_volts().await, "there is room again");
    }
    hall.shows_every_page().await;
    hall.holds_its_word(&club).await;
}

#[test]
fn while_the_disk_is_full_changes_are_refused_and_looking_goes_on_and_then_all_recovers() {
    let name = "full_disk::while_the_disk_is_full_changes_are_refused_and_looking_goes_on_and_then_all_recovers";
    play(name, on_a_full_disk);
}

async fn killed_on_a_full_disk(club: TestClub) {
    let mut hall = Hall::open(&club).await;
    assert!(hall.logs_volts().await);
    let filler = Filler::new(&new_folder());
    filler.give_back(3);
    while hall.logs_volts().await {}
    hall.server.kill();
    filler.give_all_back();
    hall.server = Server::start(club.url(), hall.at).await;
    hall.holds_its_word(&club).await;
    assert!(
        hall.logs_volts().await,
        "the form that was refused is carried out now"
    );
}

#[test]
fn killed_on_a_full_disk_it_starts_again_with_all_it_had_acknowledged() {
    let name = "full_disk::killed_on_a_full_disk_it_starts_again_with_all_it_had_acknowledged";
    play(name, killed_on_a_full_disk);
}

async fn started_on_a_full_disk(club: TestClub) {
    club.app.db.close().await;
    let filler = Filler::new(&new_folder());
    let at = free_address();
    let refused = Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .args(["--listen", &at.to_string(), "--database-url", club.url()])
        .env_clear()
        .output()
        .expect("an end");
    let told = String::from_utf8_lossy(&refused.stderr);
    assert_eq!(refused.status.code(), Some(1), "{told}");
    assert!(told.contains("the database has no room left"), "{told}");
    filler.give_all_back();
    let _running = Server::start(club.url(), at).await;
    assert!(club.is_sound().await);
}

#[test]
fn started_on_a_full_disk_it_says_so_and_starts_once_there_is_room() {
    let name = "full_disk::started_on_a_full_disk_it_says_so_and_starts_once_there_is_room";
    play(name, started_on_a_full_disk);
}

async fn postgres_short_of_something(club: TestClub) {
    club.fit_packs(1).await;
    let quinn = club.quartermaster().await;
    let fields = [
        ("volts_line", "3810 3820 3800"),
        ("rested", "rested_an_hour"),
        ("key", "v-1"),
    ];
    for (code, words) in [
        ("53100", "The server's disk is full. Nothing was changed"),
        (
            "53200",
            "The register can't be reached just now. Nothing was changed",
        ),
    ] {
        let shortage = format!(
            "CREATE OR REPLACE FUNCTION is_short() RETURNS trigger LANGUAGE plpgsql AS \
             $$ BEGIN RAISE EXCEPTION 'could not extend file' USING ERRCODE = '{code}'; END $$; \
             CREATE TRIGGER is_short BEFORE INSERT ON reading FOR EACH ROW EXECUTE FUNCTION is_short()"
        );
        club.behind_the_back(&shortage).await.expect("a shortage");
        let answer = quinn.post("/packs/P-001/volts", &fields).await;
        assert_eq!(answer.status, 503, "{code}");
        assert!(answer.one("main [role=alert]").starts_with(words), "{code}");
        assert!(!answer.text.contains("extend file"), "{code}");
        assert_eq!(quinn.get("/packs/P-001").await.status, 200);
        let over = "DROP TRIGGER is_short ON reading";
        club.behind_the_back(over).await.expect("over");
    }
    quinn.post("/packs/P-001/volts", &fields).await.done();
}

#[test]
fn what_postgres_says_when_it_is_short_of_disk_or_memory_is_told_plainly_too() {
    run(Backend::Postgres, postgres_short_of_something);
}
