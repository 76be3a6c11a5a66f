//! What a hall's slow network has to carry: compressed sizes of pages, stylesheet and scripts, and that nothing is
//! fetched from anywhere else.

use crate::support::*;
use axum::http::Method;
use sandbucket::web::assets;

const PAGE_BYTES_MAX: usize = 14_000;
const STYLE_BYTES_MAX: usize = 8_000;
const SCRIPTS_BYTES_MAX: usize = 10_000;

async fn zipped(browser: &Browser, path: &str) -> Answer {
    let takes = [("accept-encoding", "gzip, deflate, br")];
    browser.send(Method::GET, path, &takes, None).await
}

/// Bytes on the wire, and how it was packed.
fn weight(answer: &Answer) -> usize {
    assert_eq!(answer.status, 200, "{}", answer.path);
    assert_eq!(answer.header("content-encoding"), "gzip", "{}", answer.path);
    assert_eq!(answer.header("vary"), "accept-encoding", "{}", answer.path);
    answer.bytes
}

on_both! {
    async fn every_page_of_the_hall_weighs_at_most_14_kb(club: TestClub) {
        club.in_full_swing(12).await;
        let avery = club.all_roles().await;
        club.induct(&avery).await;
        let form = avery.get("/hand-out?items=3%204%205").await;
        let person = avery.id().to_string();
        avery.submit(&form, "main form", &[("person", &person)]).await.done();
        let lent = club.ids("lent").await;
        let items = format!("/take-back/items?lent={}", lent[0]);
        for path in [
            "/packs",
            "/packs/P-001",
            "/packs/P-012",
            "/packs/P-001/volts",
            "/packs/P-001/condition",
            "/packs/P-001/condition?now=no",
            "/hand-out",
            "/take-back",
            &items,
            "/loans",
            "/mine",
        ] {
            let bytes = weight(&zipped(&avery, path).await);
            assert!(bytes <= PAGE_BYTES_MAX, "{path}: {bytes} bytes");
        }
    }

    async fn a_packed_page_reads_as_the_plain_one_and_who_takes_none_gets_it_plain(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.member("Ada").await;
        let plain = ada.get("/packs").await;
        assert_eq!(plain.header("content-encoding"), "");
        let packed = zipped(&ada, "/packs").await;
        assert!(packed.bytes < plain.bytes / 2);
        assert_eq!(packed.unpacked(), plain.text);
        assert_eq!(packed.header("etag"), plain.header("etag"));
    }

    async fn the_stylesheet_weighs_at_most_8_kb_and_all_scripts_together_10(club: TestClub) {
        let visitor = club.visitor();
        let style = zipped(&visitor, &assets::at("sandbucket.css")).await;
        assert!(weight(&style) <= STYLE_BYTES_MAX, "{} bytes", style.bytes);
        assert!(style.header("cache-control").contains("immutable"));
        let plain = visitor.get(&assets::at("sandbucket.css")).await;
        assert_eq!(style.unpacked(), plain.text);
        assert_eq!(plain.header("vary"), "accept-encoding");
        let mut scripts = 0;
        // The reader of codes is fetched only once a camera runs where the browser brings none; the worker is part of no page.
        let is_of_a_page = |name: &String| !name.starts_with("qr-") && name != "worker.js";
        for name in files_ending_in(".js").into_iter().filter(is_of_a_page) {
            scripts += weight(&zipped(&visitor, &assets::at(&name)).await);
        }
        assert!((1..=SCRIPTS_BYTES_MAX).contains(&scripts), "{scripts} bytes");
        assert_eq!(files_ending_in(".css"), ["sandbucket.css"], "one stylesheet");
    }

    async fn no_page_and_no_stylesheet_fetches_anything_from_elsewhere(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        let posts = Signposts::real(&club).await;
        let mut looked_at = 0;
        for (_, path, _) in every_page() {
            let page = avery.get(&posts.fill(path)).await;
            for element in page.select("[src], [href], [srcset], [action], [formaction], [data], [poster]") {
                for name in ["src", "href", "srcset", "action", "formaction", "data", "poster"] {
                    let to = element.attribute(name);
                    assert!(!to.contains("://") && !to.starts_with("//"), "{path}: {name}={to}");
                    looked_at += 1;
                }
            }
        }
        assert!(looked_at > 100);
        let style = club.visitor().get(&assets::at("sandbucket.css")).await.text;
        assert!(!style.contains("://") && !style.contains("@import"));
    }
}

fn files_ending_in(end: &str) -> Vec<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/static");
    let files = std::fs::read_dir(folder).expect("the files");
    let names = files.map(|file| {
        file.expect("a file")
            .file_name()
            .to_string_lossy()
            .into_owned()
    });
    names.filter(|name| name.ends_with(end)).collect()
}
