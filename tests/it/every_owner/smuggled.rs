//! A form does what it does whatever else is sent with it. Two clubs are alike in everything; each form is sent in one as
//! it is and in the other with fields it does not have, and afterwards both databases must say the same.

use super::scene::{CAST, Scene};
use super::{Line, TABLE, line};
use crate::support::*;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// What a hostile form would like to set. A form's own fields are left out.
const SMUGGLED: [(&str, &str); 48] = [
    ("is_member", "true"),
    ("is_quartermaster", "true"),
    ("is_organiser", "true"),
    ("role", "organiser"),
    ("roles", "organiser"),
    ("person", "{rosa}"),
    ("person_id", "{rosa}"),
    ("who", "{rosa}"),
    ("borrower", "{rosa}"),
    ("borrower_id", "{rosa}"),
    ("responsible", "{other}"),
    ("responsible_id", "{other}"),
    ("by", "{rosa}"),
    ("by_id", "{rosa}"),
    ("handed_by", "{rosa}"),
    ("opened_by", "{rosa}"),
    ("found_by", "{rosa}"),
    ("set_aside_by", "{rosa}"),
    ("last_holder_id", "{rosa}"),
    ("state", "fit"),
    ("state_words", "as good as new"),
    ("life", "in_use"),
    ("way", "found"),
    ("outcome", "lost"),
    ("due", "2027-06-01"),
    ("due_on", "2027-06-01"),
    ("reason", "because I say so"),
    ("override_reason", "because I say so"),
    ("override_words", "because I say so"),
    ("at", "1"),
    ("at_ms", "1"),
    ("created_ms", "1"),
    ("opened_ms", "1"),
    ("closed_ms", "1"),
    ("deactivated_ms", "1"),
    ("erased_ms", "1"),
    ("taken_ms", "1"),
    ("is_demo", "true"),
    ("may_members_borrow", "on"),
    ("reading_days", "1"),
    ("spread_wide_mv", "1"),
    ("id", "00000000-0000-0000-0000-000000000001"),
    ("loan_id", "00000000-0000-0000-0000-000000000001"),
    ("night_id", "00000000-0000-0000-0000-000000000001"),
    ("number", "P-999"),
    ("owned_count", "77"),
    ("password_hash", "none"),
    ("table_code_hash", "none"),
];

/// Forms whose address names nothing. Who sends it stands first, by name in [`CAST`].
#[rustfmt::skip]
const FORMS: &[(&str, Line)] = &[
    ("nobody", line("POST /start", "", "code=aaaa&kind=club")),
    ("nobody", line("POST /sign-in", "", "sign_in=olwen&password=not the one at all&next=")),
    ("nobody", line("POST /table", "", "who={owner}&code=482915")),
    ("the owner", line("POST /hand-out", "", "person={owner}&items={number}&due=&purpose=practice")),
    ("a quartermaster", line("POST /hand-out", "", "person={other}&items={number}&due=&purpose=practice&reason=")),
    ("a quartermaster", line("POST /labels", "", "numbers={number}&sheet=a4-21&base=http://127.0.0.1:8080")),
    ("a quartermaster", line("POST /gather", "", "person={other}&items={number}&due=&purpose=practice")),
    ("a quartermaster", line("POST /gather/add", "", "add=P-001 P-002")),
    ("a quartermaster", line("POST /gather/leave-out", "", "number=P-001")),
    ("a quartermaster", line("POST /gather/end", "", "forget=yes")),
    ("a quartermaster", line("POST /take-back/items", "", "shown={id}&lent={id}&seen-{id}=nothing")),
    ("a quartermaster", line("POST /take-back/volts", "", "volts={id}&lent={id}&rested=rested_an_hour&volts_line-{id}=3.82 3.81 3.82")),
    ("a quartermaster", line("POST /readings/many", "", "pack={number}&rested=rested_an_hour&volts_line-{number}=3.82 3.81 3.82&resistance-{number}=5.1 4.9 5.3")),
    ("a quartermaster", line("POST /night", "", "place={id}&on_duty={rosa}&ends_on=2026-11-26&ends_at=21:30")),
    ("a quartermaster", line("POST /night/close", "", "")),
    ("a quartermaster", line("POST /kit/new", "", "kind=adapter&from=xt60&to=xt30&rated_ma=12&owned_count=8&name=&maker=&place=&notes=")),
    ("a quartermaster", line("POST /connectors/new", "", "code={new}&name=Hall plug&purpose=input&rating_ma=7,5&pins=2")),
    ("a quartermaster", line("POST /places/new", "", "name={new}&kind=box&room=&energy_limit=&warmth_celsius=&notes=")),
    ("a quartermaster", line("POST /storage-rounds/new", "", "packs={number}&event=&place=&name=")),
    ("an organiser", line("POST /events/new", "", "name={new}&place=&first_on=2026-11-25&last_on=2026-11-26&packs=")),
    ("an organiser", line("POST /settings/care", "", "@/settings/care&recheck_days=60")),
    ("an organiser", line("POST /settings/reminders", "", "@/settings/reminders&hour=09:30")),
    ("the owner", line("POST /me/reminders/ask", "", "")),
    ("the owner", line("POST /me/reminders", "", "address=olwen@millrace.example&quiet_from=&quiet_to=&mail_low=yes")),
    ("a quartermaster", line("POST /bring-in", "", "holds=designs&text=Name,Chemistry\n{new},LiPo")),
    ("a quartermaster", line("POST /packs", "", "design={id}&count=2&place=&maker=&batch=&supplier=&price=&acquired=&first_used=&notes=")),
    ("a quartermaster", line("POST /designs", "", "name={new}&chemistry=lipo&cells=3&parallel=&capacity=450&discharge_c=&charge_c=&connector=xt30&balance=jst-xh&mass=&size=")),
    ("a quartermaster", line("POST /people/new", "", "name={new}&responsible={owner}")),
    ("a quartermaster", line("POST /people/invite", "", "name={new}&roles=member&token={token}")),
    ("an organiser", line("POST /people/invite", "", "name={new}&roles=organiser&token={token}")),
    ("the owner", line("POST /me/name", "", "name=Olwen of the mill")),
    ("the owner", line("POST /me/table-code", "", "code_password={old}&code=482915")),
    ("the owner", line("POST /me/password", "", "old_password={old}&new_password={password}")),
    ("the owner", line("POST /me/sessions/end-others", "", "")),
    ("the owner", line("POST /me/calendar", "", "secret={token}")),
    ("the owner", line("POST /me/phones", "", "endpoint=https://push.example/send/{new}&p256dh=BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4&auth=BTBZMqHH6r4Tts7J_aSIgg")),
    ("the owner", line("POST /me/calendar/end", "", "")),
    ("the owner", line("POST /me/tokens", "", "name={new}&may=look&days=7&secret={token}")),
    ("an organiser", line("POST /settings", "", "@/settings&loan_days=5&may_members_borrow=on")),
    ("an organiser", line("POST /demo/end", "", "")),
    ("another member", line("POST /sign-out", "", "")),
    ("a quartermaster", line("POST /tablets", "", "name=By the window")),
    ("nobody", line("POST /offline", "", "key=8a1f&about=near_miss&own_words=it sparked")),
    ("nobody", line("POST /contact", "", "own_words=May we visit?&reach=gil@example.org")),
    ("the owner", line("POST /report", "", "about=near_miss&own_words=it sparked&nameless=yes")),
    ("an organiser", line("POST /book/new", "", "kind=smoke&harm=nobody&harm_could=nobody&damage_was=itself_only&damage_could=itself_only&day=2026-11-25&time=18:05&place=Hall&doing=in_use&words=It smoked.")),
    ("an organiser", line("POST /reports", "", "read={id}")),
    ("an organiser", line("POST /posters", "", "name=Hall door")),
    ("an organiser", line("POST /book/whom-to-tell", "", "list=The insurer: within a week")),
    ("an organiser", line("POST /wall-card/plan", "", "calls=Whoever stands nearest&sand=By the door")),
    ("an organiser", line("POST /drills", "", "held_on=2026-11-24&led_by={rosa}&people=9&went_well=All were out.")),
    ("an organiser", line("POST /drills/due", "", "drill_by=2027-03-01")),
];

#[test]
fn every_form_is_tried_with_fields_it_does_not_have() {
    let routes: BTreeSet<String> = every_form()
        .into_iter()
        .map(|(_, path, _)| format!("POST {path}"))
        .collect();
    let named = TABLE.iter().chain(FORMS.iter().map(|(_, line)| line));
    let tried: BTreeSet<String> = named
        .map(Line::method_and_path)
        .filter(|(method, _)| *method == "POST")
        .map(|(method, path)| format!("{method} {path}"))
        .collect();
    assert_eq!(tried, routes);
}

/// Who sends what: everybody who may, or the one named.
fn sendings() -> Vec<(Line, Vec<usize>)> {
    let forms = TABLE.iter().filter(|line| line.route.starts_with("POST"));
    let mut all: Vec<(Line, Vec<usize>)> = forms
        .map(|line| {
            let gets = line.gets();
            let may = (0..CAST.len()).filter(|at| gets[*at] == "ok");
            (*line, may.collect())
        })
        .collect();
    for (name, line) in FORMS {
        let at = CAST.iter().position(|one| one == name);
        all.push((*line, vec![at.expect("one of the cast")]));
    }
    all
}

/// Everything in the database, with people by name and other ids, secrets and hashes blank.
async fn told(club: &TestClub) -> BTreeMap<String, Vec<String>> {
    let ids = club.ids("person").await;
    let names = club
        .find("SELECT COALESCE(name, '(erased)') FROM person ORDER BY id")
        .await;
    let people: BTreeMap<Uuid, String> = ids.into_iter().zip(names).collect();
    let mut contents = club.contents().await;
    contents.remove("_sqlx_migrations");
    // Each database has its own.
    contents.remove("push_key");
    let secrets = "SELECT code FROM label UNION ALL SELECT code FROM poster UNION ALL SELECT token FROM report \
        UNION ALL SELECT reference FROM report";
    let secrets = club.find(secrets).await;
    for table in ["label", "poster", "report", "form_key"] {
        for row in contents.get_mut(table).into_iter().flatten() {
            for secret in &secrets {
                *row = row.replace(secret.as_str(), "#");
            }
        }
    }
    for rows in contents.values_mut() {
        rows.iter_mut().for_each(|row| *row = blanked(row, &people));
        rows.sort();
    }
    contents
}

fn blanked(row: &str, people: &BTreeMap<Uuid, String>) -> String {
    let is_id = |letter: char| letter.is_ascii_hexdigit() || letter == '-';
    let mut out = String::new();
    let mut rest = row;
    while let Some(first) = rest.chars().next() {
        let word = rest.find(|letter| !is_id(letter)).unwrap_or(rest.len());
        let taken = if rest.starts_with("$argon2id") {
            rest.find(['\'', '"']).unwrap_or(rest.len())
        } else if word > 0 {
            word
        } else {
            first.len_utf8()
        };
        let piece = &rest[..taken];
        match piece.parse::<Uuid>() {
            Ok(id) => out.push_str(people.get(&id).map_or("#", String::as_str)),
            Err(_) if piece.len() >= 64 && piece.chars().all(is_id) => out.push('#'),
            Err(_) if piece.starts_with("$argon2id") => out.push('#'),
            Err(_) => out.push_str(piece),
        }
        rest = &rest[taken..];
    }
    out
}

fn foreign(scene: &Scene<'_>, line: &Line) -> Vec<(&'static str, String)> {
    let own: BTreeSet<&str> = line
        .form
        .split('&')
        .filter_map(|part| part.split_once('='))
        .map(|(name, _)| name)
        .collect();
    // A page's form has fields of its own that are not written in the table.
    let is_whole_page = line.form.starts_with("@/settings");
    SMUGGLED
        .iter()
        .filter(|(name, _)| !own.contains(name))
        .filter(|(name, _)| !is_whole_page || !["reading_days", "spread_wide_mv"].contains(name))
        .map(|(name, value)| (*name, scene.plainly(value)))
        .collect()
}

async fn prepared(club: &TestClub) -> Scene<'_> {
    let scene = Scene::set(club).await;
    club.behind_the_back("UPDATE club SET may_members_borrow = (1 = 1)")
        .await
        .expect("members borrow for themselves");
    scene
}

async fn do_the_same(plain: &Scene<'_>, smuggling: &Scene<'_>) {
    for (line, who) in sendings() {
        let more = foreign(smuggling, &line);
        for at in who {
            let one = plain.thing_for(&line).await;
            let other = smuggling.thing_for(&line).await;
            let wanted = plain.ask(at, &line, &one).await;
            let answer = smuggling.ask_with(at, &line, &other, &more).await;
            let route = format!("{} by {}", line.route, CAST[at]);
            let is_done = matches!(wanted.status.as_u16(), 200 | 303);
            // A club that is no demo has none to end.
            let is_none = CAST[at] == "nobody" || line.route == "POST /demo/end";
            assert!(is_done || is_none, "{route}: {}", wanted.text);
            assert_eq!(answer.status, wanted.status, "{route}: {}", answer.text);
        }
        let (right, left) = (told(plain.club()).await, told(smuggling.club()).await);
        for (table, rows) in &right {
            let is_other = |row: &&String| !rows.contains(row);
            let others: Vec<&String> = left[table].iter().filter(is_other).collect();
            assert_eq!(left[table].len(), rows.len(), "{}: {table}", line.route);
            assert!(
                others.is_empty(),
                "{} changed {table}: {others:#?}",
                line.route
            );
        }
    }
}

on_both! {
    async fn a_form_with_foreign_fields_does_what_it_does_without_them(club: TestClub) {
        let twin = TestClub::new(club.backend).await;
        {
            let (plain, smuggling) = (prepared(&club).await, prepared(&twin).await);
            do_the_same(&plain, &smuggling).await;
        }
        twin.app.db.close().await;
        twin.ground.clear().await;
    }

    async fn a_member_who_borrows_alone_names_no_borrower_no_volts_and_no_reason(club: TestClub) {
        let scene = prepared(&club).await;
        let (owner, rosa) = (scene.plainly("{owner}"), scene.plainly("{rosa}"));
        let borrows = club.signed_in(owner.parse().expect("an id")).await;
        club.fit_packs(2).await;
        let before = club.contents().await;
        let fields = [("person", rosa.as_str()), ("items", "1"), ("reason", "she asked me")];
        assert!(borrows.post("/hand-out", &fields).await.is_refused());
        assert_eq!(club.contents().await["lent"], before["lent"], "nothing went out in another's name");
        let fields = [
            ("person", owner.as_str()),
            ("items", "1"),
            ("reason", "I may"),
            ("rested", "rested_an_hour"),
            ("volts_line-P-001", "2.90 2.90 2.90"),
        ];
        borrows.post("/hand-out", &fields).await.done();
        assert_eq!(club.contents().await["reading"], before["reading"], "only a quartermaster logs volts on the way out");
        let words = "SELECT COALESCE(override_words, 'none') FROM lent";
        assert_eq!(club.find(words).await, ["none"], "nothing was overridden");
    }

    async fn a_reason_that_overrides_nothing_is_not_kept_as_if_it_did(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.borrower("Ada").await.id().to_string();
        let fields = [("person", ada.as_str()), ("items", "1"), ("reason", "just in case")];
        club.quartermaster().await.post("/hand-out", &fields).await.done();
        assert_eq!(club.find("SELECT COALESCE(override_words, 'none') FROM lent").await, ["none"]);
    }
}
