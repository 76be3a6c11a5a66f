//! Mail that comes back as mail, handed to the real program as a mail server hands it on: `sandbucket bounced`.

use crate::support::*;
use sandbucket::tasks::remind;
use std::io::Write;
use std::process::{Command, Output, Stdio};

/// Everybody has an address, and a mail to Quinn went out: its id.
async fn mailed(club: &TestClub, post: &Post) -> String {
    club.quartermaster().await;
    club.fit_packs(1).await;
    club.more_packs(1).await;
    let sql = "INSERT INTO reach (person_id, address, dead_words) SELECT id, LOWER(name) || '@millrace.example', '' FROM person";
    club.behind_the_back(sql).await.expect("addresses");
    club.later_by_days(1);
    let app = club.with_settings(|settings| settings.smtp_url = Some(post.url()));
    remind::run(&app).await.expect("sent");
    let sent = club
        .find("SELECT message_id FROM mail WHERE state = 'sent'")
        .await;
    assert_eq!((sent.len(), post.received().len()), (1, 1));
    sent.concat()
}

/// RFC 3464: the notice of a server that could not hand on a mail with that id, to that address.
fn notice(id: &str, to: &str, (action, status): (&str, &str)) -> String {
    format!(
        "From: <postmaster@post.example>\r\nTo: <sandbucket@packs.example>\r\nMIME-Version: 1.0\r\n\
         Content-Type: multipart/report; report-type=delivery-status; boundary=\"part\"\r\n\r\n\
         --part\r\n\r\nIt did not arrive.\r\n--part\r\nContent-Type: message/delivery-status\r\n\r\n\
         Reporting-MTA: dns; post.example\r\n\r\nFinal-Recipient: RFC822; {to}\r\nAction: {action}\r\nStatus: {status}\r\n\
         Diagnostic-Code: smtp; 550 box\r\n is closed\r\n\r\n--part\r\nContent-Type: text/rfc822-headers\r\n\r\n\
         From: <sandbucket@packs.example>\r\nMessage-ID: <{id}>\r\n\r\n--part--\r\n"
    )
}

const FOR_GOOD: (&str, &str) = ("failed", "5.2.1");

fn bounced(url: &str, mail: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .env_clear()
        .args(["bounced", "--database-url", url])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    // It need not read to the end what is too large.
    let _ = child.stdin.take().expect("its input").write_all(mail);
    child.wait_with_output().expect("it ends")
}

/// What it says, having understood.
fn said(output: &Output) -> String {
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{output:?}"
    );
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// What it says, ending with that code.
fn refused(output: &Output, code: i32) -> String {
    assert!(
        output.status.code() == Some(code) && output.stdout.is_empty(),
        "{output:?}"
    );
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(told.lines().count(), 1, "{told}");
    told
}

const DEAD: &str = "SELECT dead_words FROM reach WHERE dead_ms IS NOT NULL";

on_both! {
    async fn a_mail_that_comes_back_stands_on_its_person_until_they_keep_the_address_anew(club: TestClub) {
        let post = Post::open().await;
        let id = mailed(&club, &post).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        let notice = notice(&id, "Quinn@millrace.example", FOR_GOOD);
        let told = said(&bounced(club.url(), notice.as_bytes()));
        assert!(told.contains("It stands on its person's page.") && !told.contains("uinn"), "{told}");
        let person = format!("/people/{}", quinn.id());
        let page = olive.get(&person).await;
        assert!(page.one("main").contains("Mail does not reach them. The mail server answered: “550 box is closed"), "{}", page.text);
        assert!(quinn.get("/me/reminders").await.one("main").contains("Mail does not reach you."));
        assert!(quinn.get("/mails").await.one("main").contains("Came back: 550 box is closed"));
        assert!(said(&bounced(club.url(), notice.as_bytes())).contains("already"), "twice is as once");
        assert_eq!(club.find(DEAD).await, ["550 box is closed"]);
        // Nothing more goes there.
        club.behind_the_back("DELETE FROM reminder").await.expect("as new");
        club.later_by_days(1);
        let app = club.with_settings(|settings| settings.smtp_url = Some(post.url()));
        remind::run(&app).await.expect("decided");
        assert_eq!(club.find("SELECT state FROM mail ORDER BY made_ms").await, ["dead", "held"]);
        // Kept anew it is tried again, and what came back before says nothing of it.
        quinn.post("/me/reminders", &[("address", "quinn@millrace.example"), ("key", "again")]).await.done();
        assert!(!olive.get(&person).await.one("main").contains("Mail does not reach them."));
        assert!(said(&bounced(club.url(), notice.as_bytes())).contains("kept anew since"));
        assert_eq!(club.find(DEAD).await, Vec::<String>::new());
        assert!(!olive.get(&person).await.one("main").contains("Mail does not reach them."));
    }

    async fn whoever_corrects_an_address_that_did_not_work_starts_anew(club: TestClub) {
        let post = Post::open().await;
        let id = mailed(&club, &post).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        let notice = notice(&id, "quinn@millrace.example", FOR_GOOD);
        said(&bounced(club.url(), notice.as_bytes()));
        let person = format!("/people/{}", quinn.id());
        for (key, address) in [("to", "q@millrace.example"), ("fro", "quinn@millrace.example")] {
            club.later_by_minutes(1);
            quinn.post("/me/reminders", &[("address", address), ("key", key)]).await.done();
            for page in [olive.get(&person).await, quinn.get("/me/reminders").await] {
                assert!(!page.one("main").contains("Mail does not reach"), "{address}: {}", page.text);
            }
            assert!(said(&bounced(club.url(), notice.as_bytes())).contains("kept anew since"));
            assert_eq!(club.find(DEAD).await, Vec::<String>::new());
        }
    }

    async fn who_forges_a_notice_silences_nobody(club: TestClub) {
        let post = Post::open().await;
        let id = mailed(&club, &post).await;
        let before = club.contents().await;
        let forged = [
            notice("0192@packs.example", "quinn@millrace.example", FOR_GOOD),
            notice(&id, "ada@millrace.example", FOR_GOOD),
            notice("", "quinn@millrace.example", FOR_GOOD),
            notice("%", "quinn@millrace.example", FOR_GOOD),
        ];
        let mut told: Vec<String> = forged.iter().map(|mail| refused(&bounced(club.url(), mail.as_bytes()), 1)).collect();
        told.dedup();
        assert_eq!(told, ["sandbucket: no such mail went from here to that address. Nothing is changed.\n"], "nobody learns which ids there are");
        for other in ["", "Subject: thanks\r\n\r\nSee you.", &notice(&id, "quinn@millrace.example", FOR_GOOD).replace("Message-ID", "Subject")] {
            refused(&bounced(club.url(), other.as_bytes()), 1);
        }
        assert!(refused(&bounced(club.url(), &vec![b'x'; 3 << 20]), 1).contains("1 MB"));
        assert!(club.contents().await == before);
    }

    async fn what_is_late_or_our_own_fault_is_said_and_changes_nothing(club: TestClub) {
        let post = Post::open().await;
        let id = mailed(&club, &post).await;
        let before = club.contents().await;
        for (fate, words) in [
            (("delayed", "4.4.1"), "late"),
            (("failed", "4.4.7"), "for now alone"),
            (("failed", "5.7.8"), "its sender's"),
            (("delivered", "2.0.0"), "does not say that the mail came back"),
        ] {
            let told = said(&bounced(club.url(), notice(&id, "quinn@millrace.example", fate).as_bytes()));
            assert!(told.contains(words) && told.contains("Nothing is changed."), "{told}");
        }
        assert!(club.contents().await == before);
    }
}

#[test]
fn a_database_that_is_away_has_the_mail_server_try_again_later() {
    let folder = new_folder();
    let url = format!("sqlite://{}", folder.join("away.db").display());
    let mail = notice("a@b", "quinn@millrace.example", FOR_GOOD);
    assert!(refused(&bounced(&url, mail.as_bytes()), 75).contains("could not be opened"));
    std::fs::remove_dir_all(&folder).expect("tidied up");
}
