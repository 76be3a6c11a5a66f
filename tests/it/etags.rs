//! Entity tags: who holds a page as it is gets the short answer, and nobody is told to keep what is personal.

use crate::support::*;
use axum::http::Method;

async fn ask_again(browser: &Browser, path: &str, tag: &str) -> Answer {
    let headers = [("if-none-match", tag)];
    browser.send(Method::GET, path, &headers, None).await
}

on_both! {
    async fn every_page_without_a_one_time_key_has_a_tag_and_is_not_sent_twice(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let mut tagged = 0;
        for (_, path, _) in every_page() {
            let path = posts.fill(path);
            let first = avery.get(&path).await;
            let is_page = first.header("content-type").starts_with("text/html") && first.header("content-disposition").is_empty();
            if first.status != 200 || !is_page {
                continue;
            }
            let has_key = !first.select("input[name=key]").is_empty();
            assert_eq!(first.header("etag").is_empty(), has_key, "{path}");
            if has_key {
                continue;
            }
            tagged += 1;
            let again = ask_again(&avery, &path, first.header("etag")).await;
            assert_eq!(again.status, 304, "{path}");
            assert_eq!(again.text, "", "{path}");
            assert_eq!(again.header("etag"), first.header("etag"), "{path}");
            assert_eq!(again.header("cache-control"), first.header("cache-control"), "{path}");
            assert_eq!(again.header("vary"), "accept-encoding", "{path}");
            assert!(again.header("content-security-policy").contains("default-src 'none'"), "{path}");
        }
        assert!(tagged >= 10, "only {tagged} pages had a tag");
    }

    async fn a_page_that_changed_is_sent_whole_with_another_tag(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.member("Ada").await;
        let before = ada.get("/packs").await;
        club.more_packs(1).await;
        let after = ask_again(&ada, "/packs", before.header("etag")).await;
        assert_eq!(after.status, 200);
        assert!(after.text.contains("P-003"));
        assert_ne!(after.header("etag"), before.header("etag"));
    }

    async fn any_of_several_tags_may_match_and_a_strange_one_does_not(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.member("Ada").await;
        let tag = ada.get("/packs").await.header("etag").to_owned();
        let strong = tag.trim_start_matches("W/").to_owned();
        for held in [format!("\"other\", {tag}"), strong, "*".to_owned()] {
            assert_eq!(ask_again(&ada, "/packs", &held).await.status, 304, "{held}");
        }
        for held in ["", "\"other\"", "W/\"\"", "nonsense"] {
            assert_eq!(ask_again(&ada, "/packs", held).await.status, 200, "{held}");
        }
    }

    async fn another_person_holding_the_tag_of_a_page_is_shown_their_own(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, ben) = (club.member("Ada").await, club.member("Ben").await);
        let tag = ada.get("/packs").await.header("etag").to_owned();
        let shown = ask_again(&ben, "/packs", &tag).await;
        assert_eq!(shown.status, 200);
        assert!(shown.text.contains("Ben"));
    }

    async fn a_browser_may_keep_only_what_is_alike_for_everybody(club: TestClub) {
        club.found().await;
        let visitor = club.visitor();
        for path in ["/sign-in", "/reset/done"] {
            let page = visitor.get(path).await;
            assert_eq!(page.header("cache-control"), "private, no-cache", "{path}");
            assert_eq!(ask_again(&visitor, path, page.header("etag")).await.status, 304, "{path}");
            let mine = club.member("Ada").await.get(path).await;
            assert!(mine.location.is_some() || mine.header("cache-control") == "no-store", "{path}");
        }
        for path in ["/packs", "/mine", "/me"] {
            assert_eq!(club.member("Ada").await.get(path).await.header("cache-control"), "no-store", "{path}");
        }
    }

    async fn a_refusal_and_a_trouble_carry_no_tag(club: TestClub) {
        let ada = club.member("Ada").await;
        assert_eq!(ada.get("/nowhere").await.header("etag"), "");
        let refused = club.visitor().post("/sign-in", &[("sign_in", "ada"), ("password", "x")]).await;
        assert!(refused.is_refused());
        assert_eq!(refused.header("etag"), "");
    }
}
