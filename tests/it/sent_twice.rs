//! A form sent twice has one effect (a double click, a reload): by its one-time key, or because what it asks for is so
//! already. Every form of every page is looked at; none may lack a key unless it stands on the list here.

use crate::support::*;
use std::collections::BTreeSet;

const NEW: &str = "nine quiet herons wade";

/// Without a key. Each action says why sending it twice is harmless: a secret that works once, something that can end only
/// once, a password or code that is so already, a session among others.
const KEYLESS: [&str; 12] = [
    "/start",
    "/sign-in",
    "/sign-out",
    "/join/{token}",
    "/reset/{token}",
    "/me/password",
    "/me/table-code",
    "/me/sessions/{id}/end",
    "/me/sessions/end-others",
    "/table",
    "/tablets",
    "/tablets/{id}/end",
];

/// Whether `action` is an address of the route `path`.
fn is_of(path: &str, action: &str) -> bool {
    let (wanted, given): (Vec<&str>, Vec<&str>) =
        (path.split('/').collect(), action.split('/').collect());
    wanted.len() == given.len()
        && wanted
            .iter()
            .zip(&given)
            .all(|(want, give)| want.starts_with('{') || want == give)
}

fn route_of(action: &str) -> &'static str {
    let all = every_form();
    let exact = all.iter().find(|(_, path, _)| *path == action);
    let found = exact.or_else(|| all.iter().find(|(_, path, _)| is_of(path, action)));
    found
        .map(|(_, path, _)| *path)
        .unwrap_or_else(|| panic!("a form leads to {action}, which is no route"))
}

/// The form as a careful person would fill it in: the first of each choice, the last of each list, words in each text.
fn filled(page: &Answer, form: &str) -> Vec<(String, String)> {
    let (_, held) = page.form(form);
    let mut fields = held;
    for radio in page.select(&format!("{form} input[type=radio]")) {
        let name = radio.attribute("name");
        if !fields.iter().any(|(known, _)| known == name) {
            fields.push((name.to_owned(), radio.attribute("value").to_owned()));
        }
    }
    for (name, value) in &mut fields {
        if !value.is_empty() {
            continue;
        }
        let is_a = |kind: &str| {
            !page
                .select(&format!("{form} input[name='{name}'][type={kind}]"))
                .is_empty()
        };
        if is_a("date") || is_a("time") {
            // The day of the test, and an hour after its own.
            *value = if is_a("date") { "2026-11-25" } else { "21:30" }.to_owned();
            continue;
        }
        let options = page.select(&format!("{form} select[name='{name}'] option"));
        *value = match options.last() {
            Some(option) => option.attribute("value").to_owned(),
            None if name.contains("limit") || name.contains("pins") || name.ends_with("_ma") => {
                String::new()
            }
            None => "because of that".to_owned(),
        };
    }
    fields
}

/// Everything on record but the sessions, which say when somebody was last seen.
async fn on_record(club: &TestClub) -> Vec<(String, Vec<String>)> {
    let all = club.contents().await;
    all.into_iter()
        .filter(|(table, _)| table != "session")
        .collect()
}

on_both! {
    async fn every_form_carries_a_key_or_stands_on_the_list_of_those_that_need_none(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let mut seen = BTreeSet::new();
        for (_, path, _) in every_page() {
            let page = avery.get(&posts.fill(path)).await;
            for form in page.select("form[method=post]") {
                let action = form.attribute("action");
                let route = route_of(action);
                let (_, held) = page.form(&format!("form[method=post][action='{action}']"));
                let has_key = held.iter().any(|(name, value)| name == "key" && !value.is_empty());
                assert_eq!(has_key, !KEYLESS.contains(&route), "{path}: the form to {action}");
                seen.insert(route);
            }
        }
        assert!(seen.len() > 20, "{seen:?}");
    }

    async fn every_form_sent_twice_leaves_on_record_what_it_left_sent_once(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let mut done = BTreeSet::new();
        for (_, path, _) in every_page() {
            let posts = Signposts::real(&club).await;
            let page = avery.get(&posts.fill(path)).await;
            for form in page.select("main form[method=post]") {
                let action = form.attribute("action");
                if is_of("/tablets", action) {
                    continue;
                }
                let fields = filled(&page, &format!("main form[method=post][action='{action}']"));
                let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
                let before = on_record(&club).await;
                avery.post(action, &fields).await;
                let once = on_record(&club).await;
                let again = avery.post(action, &fields).await;
                assert!(!again.status.is_server_error(), "{action}");
                assert_eq!(on_record(&club).await, once, "POST {action} {fields:?}");
                if once != before {
                    done.insert(route_of(action));
                }
            }
        }
        assert!(done.len() > 8, "too few forms took effect to show anything: {done:?}");
    }

    async fn a_name_sent_twice_is_changed_once_and_another_name_under_the_same_key_is_refused(club: TestClub) {
        let ada = club.member("Ada").await;
        let page = ada.get("/me").await;
        let form = "form[action='/me/name']";
        for _ in 0..2 {
            assert_eq!(ada.submit(&page, form, &[("name", "Ada Quay")]).await.done(), "/me?done=name");
        }
        assert_eq!(ada.submit(&page, form, &[("name", "Ada Other")]).await.status, 409);
        assert_eq!(club.find("SELECT verb FROM activity").await, ["changed their name"]);
        assert_eq!(ada.get("/me").await.one("h1"), "Ada Quay");
    }

    async fn a_password_sent_twice_is_changed_once_and_no_quick_digest_of_it_is_kept(club: TestClub) {
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        let typed = [("old_password", PASSWORD), ("new_password", NEW)];
        let (one, two) = tokio::join!(ada.post("/me/password", &typed), ada.post("/me/password", &typed));
        let three = ada.post("/me/password", &typed).await;
        for answer in [one, two, three] {
            assert_eq!(answer.done(), "/me?done=password");
        }
        assert_eq!(club.find("SELECT verb FROM activity").await, ["changed the password"]);
        assert!(club.find("SELECT key FROM form_key").await.is_empty());
        let wrong = [("old_password", PASSWORD), ("new_password", "some other words entirely")];
        assert!(ada.post("/me/password", &wrong).await.is_refused());
    }

    async fn a_table_code_sent_twice_is_changed_once(club: TestClub) {
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        for typed in [[("code_password", PASSWORD), ("code", "482913")], [("code_password", PASSWORD), ("code", "")]] {
            for _ in 0..2 {
                assert_eq!(ada.post("/me/table-code", &typed).await.done(), "/me?done=code");
            }
        }
        assert_eq!(club.find("SELECT verb FROM activity").await, ["changed the table code", "changed the table code"]);
    }

    async fn a_tablet_is_opened_once_however_often_its_form_is_sent(club: TestClub) {
        let quinn = club.quartermaster().await;
        let typed = [("name", "Table by the door")];
        let (first, second) = (quinn.again(), quinn.again());
        let (one, two) = tokio::join!(first.post("/tablets", &typed), second.post("/tablets", &typed));
        let done = [&one, &two].iter().filter(|answer| answer.status == 303 && answer.location.as_deref() == Some("/table")).count();
        assert_eq!(done, 1, "{} {}", one.status, two.status);
        assert_eq!(club.ids("tablet").await.len(), 1);
    }
}
