//! Photos through the API: looked at, added alone or in a form, removed, with the rules of their page.

use super::program::*;
use crate::support::*;
use axum::http::Method;
use serde_json::json;

const PATH: &str = "/api/v1/packs/P-001/photos";

/// A form as programs send it, its parts apart.
fn form(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, bytes) in parts {
        let file = if *name == "photo" {
            "; filename=\"a.png\""
        } else {
            ""
        };
        body.extend_from_slice(
            format!("--part\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n")
                .as_bytes(),
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(b"--part--\r\n");
    body
}

const FORM: (&str, &str) = ("content-type", "multipart/form-data; boundary=part");
const PNG: (&str, &str) = ("content-type", "image/png");

async fn add(program: &Program, headers: &[(&str, &str)], body: Vec<u8>) -> Reply {
    program.send_bytes(Method::POST, PATH, headers, body).await
}

on_both! {
    async fn a_photo_is_added_alone_or_in_a_form_and_looked_at_small_and_large(club: TestClub) {
        club.one_pack().await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let sent = a_picture(2_400, 1_800);
        assert_eq!(ada.get(PATH).await.done(), json!({"photos": []}));
        for (headers, body) in [([PNG], sent.clone()), ([FORM], form(&[("photo", &sent)]))] {
            let done = add(&ada, &headers, body).await.done();
            assert_eq!(done["see"], PATH);
            club.later_by_minutes(1);
        }
        let photos = quinn.get(PATH).await.done()["photos"].as_array().expect("photos").clone();
        assert_eq!(photos.len(), 2);
        for photo in &photos {
            assert_eq!((&photo["added_by"], &photo["may_remove"]), (&json!("Ada"), &json!(true)));
            for (which, longest) in [("large", photo["width"].as_u64().expect("a width")), ("small", 320)] {
                let shown = quinn.get(photo[which].as_str().expect("an address")).await;
                assert_eq!((shown.status, shown.header("content-type")), (200, "image/jpeg"));
                assert_eq!(shown.header("cache-control"), "no-store");
                let read = image::load_from_memory_with_format(&shown.body, image::ImageFormat::Jpeg).expect("a JPEG");
                assert_eq!(u64::from(read.width()), longest, "{which}");
            }
        }
        let bea = club.program(club.member("Bea").await.id()).await;
        let seen = bea.get(PATH).await.done();
        assert_eq!((&seen["photos"][0]["added_by"], &seen["photos"][0]["may_remove"]), (&json!(null), &json!(false)));
        let digests = club.find("SELECT original_sha256 FROM photo").await;
        assert_eq!(digests, vec![sandbucket::ids::digest_of(&sent); 2]);
    }

    async fn a_photo_is_removed_by_who_may_and_by_nobody_else(club: TestClub) {
        club.new_packs(2).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let bea = club.program(club.member("Bea").await.id()).await;
        add(&ada, &[PNG], a_picture(30, 20)).await.done();
        let large = ada.get(PATH).await.done()["photos"][0]["large"].as_str().expect("an address").to_owned();
        let remove = format!("{large}/remove");
        assert_eq!(bea.post(&remove, &json!({})).await.status, 403);
        assert_eq!(ada.post(&remove.replace("P-001", "P-002"), &json!({})).await.status, 404);
        assert_eq!(ada.get(&large.replace("P-001", "P-002")).await.status, 404);
        let olive = club.program(club.organiser().await.id()).await;
        assert_eq!(olive.get(&large).await.status, 200, "an organiser looks");
        assert_eq!(add(&olive, &[PNG], a_picture(30, 20)).await.status, 403, "and adds none");
        assert_eq!(ada.post_once(&remove, &json!({}), "a").await.done()["see"], PATH);
        assert_eq!(ada.get(&large).await.status, 404);
        assert_eq!(ada.post_once(&remove, &json!({}), "a").await.done()["see"], PATH, "sent again");
        assert!(club.ids("photo").await.is_empty());
    }

    async fn what_is_no_photo_or_too_large_is_refused_and_nothing_is_kept(club: TestClub) {
        club.one_pack().await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let before = club.contents().await;
        for (headers, body) in [([PNG], b"GIF89a".to_vec()), ([PNG], Vec::new()), ([FORM], form(&[("photo", b"<html>")])), ([FORM], form(&[]))] {
            let reply = add(&quinn, &headers, body).await;
            assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{}", reply.text);
            assert_eq!(reply.json()["problems"][0]["field"], "photo");
        }
        let large = vec![7; 12 * 1024 * 1024 + 1];
        let reply = add(&quinn, &[PNG], large.clone()).await;
        assert_eq!((reply.status, reply.kind().as_str()), (413, "too-large"));
        let reply = add(&quinn, &[FORM], form(&[("photo", &large)])).await;
        assert_eq!((reply.status, reply.json()["problems"][0]["detail"].as_str()), (422, Some("A photo may have 12 MB. Send a smaller one.")));
        let more = form(&[("photo", &a_picture(30, 20)), ("key", b"k1")]);
        let reply = add(&quinn, &[FORM], more).await;
        assert_eq!((reply.status, reply.json()["problems"][0]["field"].as_str()), (422, Some("key")));
        for kind in ["application/json", "text/plain", ""] {
            let reply = add(&quinn, &[("content-type", kind)], a_picture(30, 20)).await;
            assert_eq!((reply.status, reply.kind().as_str()), (415, "not-json"), "{kind}");
        }
        let packed = add(&quinn, &[PNG, ("content-encoding", "gzip")], a_picture(30, 20)).await;
        assert_eq!(packed.status, 415);
        assert!(club.contents().await == before);
    }

    async fn a_photo_sent_again_under_its_key_is_added_once_and_twelve_are_enough(club: TestClub) {
        club.one_pack().await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        let key = ("idempotency-key", "one");
        let sent = a_picture(30, 20);
        let first = add(&quinn, &[PNG, key], sent.clone()).await;
        first.done();
        assert_eq!(add(&quinn, &[PNG, key], sent.clone()).await.text, first.text);
        assert_eq!(club.ids("photo").await.len(), 1);
        let other = add(&quinn, &[PNG, key], a_picture(31, 20)).await;
        assert_eq!((other.status, other.kind().as_str()), (422, "other-body"));
        for _ in 1..12 {
            add(&quinn, &[PNG], sent.clone()).await.done();
        }
        let full = add(&quinn, &[PNG], sent).await;
        assert_eq!((full.status, full.kind().as_str()), (409, "refused"));
        assert_eq!(club.ids("photo").await.len(), 12);
    }
}
