//! Every page of the table: how few questions it asks the database, and that it is a page a person can find round in.

use crate::support::*;
use std::collections::BTreeMap;

/// Every page that Avery, who may use everything, gets to see at a real address.
async fn pages(club: &TestClub) -> Vec<Answer> {
    let avery = club.all_roles().await;
    let posts = Signposts::real(club).await;
    let mut pages = Vec::new();
    for (_, path, _) in every_page() {
        pages.push(avery.get(&posts.fill(path)).await);
    }
    pages.push(club.visitor().get("/sign-in").await);
    pages.push(avery.get("/nowhere").await);
    pages.into_iter().filter(is_html).collect()
}

/// What is kept as a file is no page.
fn is_html(answer: &Answer) -> bool {
    answer.header("content-type").starts_with("text/html")
        && answer.header("content-disposition").is_empty()
}

async fn asks_little(club: &TestClub) {
    let avery = club.all_roles().await;
    let mut paths: Vec<String> = Vec::new();
    for posts in Signposts::several(club, 6).await {
        paths.extend(every_page().iter().map(|(_, path, _)| posts.fill(path)));
    }
    paths.sort_unstable();
    paths.dedup();
    for path in paths {
        asks_at_most_three_times(club, &avery, &path).await;
    }
}

async fn asks_at_most_three_times(club: &TestClub, browser: &Browser, path: &str) -> Answer {
    let (answer, count) = club.queries_of(browser.get(path)).await;
    let status = answer.status;
    assert!(!status.is_server_error(), "{path}: {status}");
    assert!(count <= 3, "GET {path} ran {count} statements ({status})");
    answer
}

on_both! {
    async fn no_page_of_an_empty_club_asks_the_database_more_than_three_times(club: TestClub) {
        club.found().await;
        asks_little(&club).await;
    }

    async fn no_page_of_a_full_club_asks_the_database_more_than_three_times(club: TestClub) {
        club.in_full_swing(120).await;
        asks_little(&club).await;
    }

    async fn no_step_of_taking_back_many_packs_asks_the_database_more_than_three_times(club: TestClub) {
        club.in_full_swing(36).await;
        let quinn = club.quartermaster().await;
        let items = asks_at_most_three_times(&club, &quinn, "/take-back/items?numbers=1-36").await;
        assert_eq!(items.select("section.item").len(), 12);
        let first = quinn.submit(&items, "main form", &[("all", "nothing")]).await;
        let volts = asks_at_most_three_times(&club, &quinn, first.done()).await;
        let lines = volts.select("input[name^=volts_line]");
        let mut typed: Vec<(&str, &str)> = lines.iter().map(|line| (line.attribute("name"), "3.82 3.81 3.82")).collect();
        assert_eq!(typed.len(), 12);
        typed.push(("rested", "rested_an_hour"));
        let second = quinn.submit(&volts, "main form", &typed).await;
        let done = asks_at_most_three_times(&club, &quinn, second.done()).await;
        assert_eq!(done.select(".verdict").len(), 12);
        assert!(done.one("main [role=status]").starts_with("12 of 12 in."));
    }

    async fn every_page_has_one_heading_a_language_landmarks_and_a_way_past_the_menu(club: TestClub) {
        club.in_full_swing(6).await;
        for page in pages(&club).await {
            let path = &page.path;
            assert_eq!(page.select("h1").len(), 1, "{path}");
            assert!(!page.one("h1").is_empty(), "{path}");
            assert_eq!(page.select("html[lang='en']").len(), 1, "{path}");
            assert_eq!(page.select("main#main").len(), 1, "{path}");
            assert_eq!(page.select("header").len().min(1), 1, "{path}");
            let skip = page.select("body > a.skip:first-child");
            assert_eq!(skip.first().map(|link| link.attribute("href").to_owned()).as_deref(), Some("#main"), "{path}");
        }
    }

    async fn no_two_pages_have_the_same_title(club: TestClub) {
        club.in_full_swing(6).await;
        let mut titles: BTreeMap<String, String> = BTreeMap::new();
        for page in pages(&club).await {
            let title = page.one("head > title");
            // Labels that lead nowhere answer alike.
            if title.starts_with("Error: ") || page.status == 404 {
                continue;
            }
            let path = page.path.clone();
            if let Some(other) = titles.insert(title.clone(), path.clone()) {
                assert_eq!(other, path, "both are called {title:?}");
            }
        }
    }

    async fn no_page_has_scripts_or_styles_written_into_it(club: TestClub) {
        club.in_full_swing(6).await;
        for page in pages(&club).await {
            let path = &page.path;
            assert!(page.select("script:not([src]), style, [style], base, iframe, object").is_empty(), "{path}");
            for element in page.select("*") {
                let handler = element.attributes.keys().find(|name| name.starts_with("on"));
                assert_eq!(handler, None, "{path}: <{}>", element.name);
                for name in ["src", "href", "action"] {
                    let to = element.attribute(name);
                    let is_ours = to.starts_with(['/', '#', '?']) && !to.starts_with("//");
                    let is_scheme_we_use = to.starts_with("tel:") || to.starts_with("mailto:");
                    assert!(to.is_empty() || is_ours || is_scheme_we_use, "{path}: {name}={to}");
                }
            }
        }
    }

    async fn every_field_has_a_label_and_every_id_stands_once(club: TestClub) {
        club.in_full_swing(6).await;
        for page in pages(&club).await {
            let path = &page.path;
            let mut seen = std::collections::BTreeSet::new();
            for element in page.select("[id]") {
                assert!(seen.insert(element.attribute("id").to_owned()), "{path}: #{}", element.attribute("id"));
            }
            let labelled: Vec<String> = page.select("label[for]").iter().map(|label| label.attribute("for").to_owned()).collect();
            let wrapped = page.select("label input, label select, label textarea");
            for field in page.select("input:not([type=hidden]), select, textarea") {
                let is_labelled = labelled.iter().any(|id| id == field.attribute("id"))
                    || !field.attribute("aria-label").is_empty()
                    || !field.attribute("aria-labelledby").is_empty()
                    || wrapped.iter().any(|inner| inner.attributes == field.attributes);
                assert!(is_labelled, "{path}: {:?} has no label", field.attributes);
            }
        }
    }

    async fn nobody_is_led_from_a_page_of_theirs_to_one_that_refuses_them(club: TestClub) {
        club.in_full_swing(6).await;
        let ada = club.member("Ada 0").await;
        for (who, browser) in [("a member", ada), ("a quartermaster", club.quartermaster().await), ("an organiser", club.organiser().await)] {
            let posts = Signposts::real(&club).await;
            let mut asked = std::collections::BTreeSet::new();
            let mut refused = Vec::new();
            for (_, path, _) in every_page() {
                let page = browser.get(&posts.fill(path)).await;
                for link in page.select("main a[href^='/']") {
                    let to = link.attribute("href").to_owned();
                    if page.status.is_success() && asked.insert(to.clone()) {
                        let answer = browser.get(&to).await;
                        if answer.status.is_client_error() {
                            refused.push(format!("{} leads {who} to {to}: {}", page.path, answer.status));
                        }
                    }
                }
            }
            assert!(refused.is_empty(), "{refused:#?}");
            assert!(asked.len() > 10, "{who} is led to {asked:?}");
        }
    }

    async fn every_link_of_a_page_leads_to_a_route(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let mut asked = std::collections::BTreeSet::new();
        for page in pages(&club).await {
            for link in page.select("a[href^='/'], link[href^='/'], script[src^='/'], img[src^='/']") {
                let to = format!("{}{}", link.attribute("href"), link.attribute("src"));
                if asked.insert(to.clone()) {
                    let answer = avery.get(&to).await;
                    assert!(answer.status.is_success() || answer.status.is_redirection(), "{} links to {to}: {}", page.path, answer.status);
                }
            }
        }
    }
}
