//! Photos of packs: what is kept of what is sent, who adds, sees and removes them.

use crate::support::*;
use image::{DynamicImage, ImageFormat, RgbImage};
use std::io::Cursor;

fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let dots = RgbImage::from_fn(width, height, |x, y| {
        image::Rgb([(x % 256) as u8, (y % 256) as u8, 90])
    });
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(dots)
        .write_to(&mut bytes, format)
        .expect("a picture");
    bytes.into_inner()
}

async fn add(who: &Browser, bytes: &[u8]) -> Answer {
    let page = who.get("/packs/P-001/photos").await;
    who.upload(&page, "form[enctype]", &[], ("photo", "IMG 1.jpg", bytes))
        .await
}

on_both! {
    async fn a_photo_is_made_anew_and_shown_small_and_large(club: TestClub) {
        club.one_pack().await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let sent = picture(2_400, 1_800, ImageFormat::Png);
        assert_eq!(add(&ada, &sent).await.done(), "/packs/P-001/photos");
        let page = quinn.get("/packs/P-001/photos").await;
        let shown = &page.select("ul.photos img")[0];
        assert_eq!((shown.attribute("width"), shown.attribute("height")), ("320", "240"));
        for (address, wide, high) in [(shown.attribute("src").to_owned(), 320, 240), (page.select("ul.photos a")[0].attribute("href").to_owned(), 1_600, 1_200)] {
            let served = quinn.get(&address).await;
            assert_eq!((served.status.as_u16(), served.header("content-type"), served.header("x-content-type-options")), (200, "image/jpeg", "nosniff"));
            assert_eq!(served.header("cache-control"), "no-store");
            let read = image::load_from_memory_with_format(served.body(), ImageFormat::Jpeg).expect("a JPEG");
            assert_eq!((read.width(), read.height()), (wide, high));
        }
        let digest = club.find("SELECT original_sha256 FROM photo").await.remove(0);
        assert_eq!(digest, sandbucket::ids::digest_of(&sent));
        assert!(quinn.get("/packs/P-001").await.texts("ol.log li span")[0].ends_with("photo added"));
        assert!(page.text.contains("by Ada") && !club.member("Bea").await.get("/packs/P-001/photos").await.text.contains("by Ada"));
    }

    async fn what_is_no_photo_is_refused_beside_its_field_and_nothing_is_kept(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let before = club.contents().await;
        let large = [picture(20, 20, ImageFormat::Jpeg), vec![7; 12 * 1024 * 1024]].concat();
        for (sent, words) in [
            (b"".as_slice(), "That is no photo that can be read. Send a JPEG, PNG or WebP picture."),
            (b"<html><script>", "That is no photo that can be read. Send a JPEG, PNG or WebP picture."),
            (b"GIF89a", "That is no photo that can be read. Send a JPEG, PNG or WebP picture."),
            (&large, "A photo may have 12 MB. Send a smaller one."),
        ] {
            let refused = add(&quinn, sent).await;
            assert_eq!(refused.problems(), [words]);
            assert_eq!(refused.select("#f-photo")[0].attribute("aria-invalid"), "");
        }
        let none = quinn.post("/packs/P-001/photos", &[]).await;
        assert_eq!(none.problems(), ["Choose a photo, or take one."]);
        assert_eq!(club.contents().await, before);
        assert_eq!(add_to(&quinn, "P-999").await.status, 404);
    }

    async fn a_double_click_adds_one_photo_and_twelve_are_enough(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let sent = picture(30, 20, ImageFormat::WebP);
        let page = quinn.get("/packs/P-001/photos").await;
        for _ in 0..2 {
            quinn.upload(&page, "form[enctype]", &[], ("photo", "a.webp", &sent)).await.done();
        }
        assert_eq!(club.ids("photo").await.len(), 1);
        let other = picture(31, 20, ImageFormat::WebP);
        assert_eq!(quinn.upload(&page, "form[enctype]", &[], ("photo", "a.webp", &other)).await.status, 409, "the same form with another photo");
        for _ in 1..12 {
            add(&quinn, &sent).await.done();
        }
        let page = quinn.get("/packs/P-001/photos").await;
        assert!(page.select("form[enctype]").is_empty() && page.text.contains("12 photos of one pack are enough"));
        let key = sandbucket::ids::new_id().to_string();
        let refused = quinn.send_file("/packs/P-001/photos", &[("key", key.as_str())], ("photo", "a.webp", &sent)).await;
        assert_eq!(refused.problems(), ["12 photos of one pack are enough. Remove one first."]);
        assert_eq!(club.ids("photo").await.len(), 12);
    }

    async fn a_photo_is_removed_by_a_quartermaster_or_by_who_added_it(club: TestClub) {
        club.one_pack().await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.member("Ada").await, club.member("Bea").await);
        let sent = picture(30, 20, ImageFormat::Jpeg);
        add(&ada, &sent).await.done();
        add(&quinn, &sent).await.done();
        let hers = club.find("SELECT COUNT(*) || '' FROM photo").await;
        assert_eq!(hers, ["2"]);
        let page = ada.get("/packs/P-001/photos").await;
        assert!(page.select("form[action$='/remove']").is_empty(), "it is for good: asked first");
        let links = page.select("a[href*='?remove=']");
        assert_eq!(links.len(), 1, "her own");
        let ask = links[0].attribute("href").to_owned();
        let page = ada.get(&ask).await;
        assert!(page.one("#remove").contains("It can't be brought back."));
        let (remove, _) = page.form("form[action$='/remove']");
        assert_eq!(bea.post(&remove, &[]).await.status, 403);
        for at in ["/packs/P-001/photos", ask.as_str()] {
            assert!(bea.get(at).await.select("form[action$='/remove'], a[href*='?remove=']").is_empty(), "{at}");
        }
        let picture = remove.trim_end_matches("/remove").to_owned();
        ada.submit(&page, "form[action$='/remove']", &[]).await.done();
        assert_eq!(quinn.get(&picture).await.status, 404);
        let page = quinn.get("/packs/P-001/photos").await;
        let page = quinn.get(page.select("a[href*='?remove=']")[0].attribute("href")).await;
        quinn.submit(&page, "form[action$='/remove']", &[]).await.done();
        assert!(club.ids("photo").await.is_empty());
        assert!(quinn.get("/packs/P-001").await.texts("ol.log li span")[0].ends_with("photo removed"));
    }

    async fn strangers_see_no_photo_and_another_packs_address_shows_none(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        add(&quinn, &picture(30, 20, ImageFormat::Jpeg)).await.done();
        let id = club.ids("photo").await[0];
        assert_eq!(club.visitor().get(&format!("/packs/P-001/photos/{id}")).await.status, 303);
        assert_eq!(quinn.get(&format!("/packs/P-001/photos/{id}")).await.status, 200);
        assert_eq!(quinn.get(&format!("/packs/P-002/photos/{id}")).await.status, 404);
        let olive = club.organiser().await;
        assert_eq!(olive.get(&format!("/packs/P-001/photos/{id}/small")).await.status, 200, "an organiser looks");
        assert!(olive.get("/packs/P-001/photos").await.select("form[enctype]").is_empty(), "and adds none");
    }
}

async fn add_to(who: &Browser, number: &str) -> Answer {
    let bytes = picture(20, 20, ImageFormat::Png);
    who.send_file(
        &format!("/packs/{number}/photos"),
        &[],
        ("photo", "a.png", &bytes),
    )
    .await
}
