//! Pictures that somebody sends to break something, through a report and through a pack's photo: each is refused with a sentence or
//! made anew, within a second, and nothing of it but what is seen on it is ever given out again. They are made here.

use crate::support::*;
use flate2::{Compression, Crc, write::ZlibEncoder};
use image::{DynamicImage, ImageFormat};
use std::io::{Cursor, Read};
use std::time::{Duration, Instant};

/// Stands in everything of a file that is no dot of its picture.
const HIDDEN: &str = "<script>MillPhone</script>";

fn flag(width: u32, height: u32) -> DynamicImage {
    let dot = |x: u32, y: u32| {
        image::Rgb([
            u8::try_from(x % 256).unwrap_or(0),
            u8::try_from(y % 256).unwrap_or(0),
            90,
        ])
    };
    DynamicImage::ImageRgb8(image::RgbImage::from_fn(width, height, dot))
}

fn sent_as(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("a picture");
    bytes.into_inner()
}

fn jpeg() -> Vec<u8> {
    sent_as(&flag(300, 200), ImageFormat::Jpeg)
}

fn png() -> Vec<u8> {
    sent_as(&flag(300, 200), ImageFormat::Png)
}

/// ITU-T T.81: marker and length, put behind the start of the image.
fn with_segment(jpeg: &[u8], marker: u8, content: &[u8]) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    out.extend([0xff, marker]);
    out.extend(
        u16::try_from(content.len() + 2)
            .expect("short")
            .to_be_bytes(),
    );
    out.extend(content);
    out.extend(&jpeg[2..]);
    out
}

/// PNG specification, 5.3: length, kind, content, sum.
fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let mut out = u32::try_from(content.len())
        .expect("short")
        .to_be_bytes()
        .to_vec();
    out.extend(kind);
    out.extend(content);
    let mut sum = Crc::new();
    sum.update(&out[4..]);
    out.extend(sum.sum().to_be_bytes());
    out
}

fn head(width: u32, height: u32) -> Vec<u8> {
    let mut content = width.to_be_bytes().to_vec();
    content.extend(height.to_be_bytes());
    content.extend([8, 2, 0, 0, 0]);
    [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &content)].concat()
}

fn packed_zeros(count: u64) -> Vec<u8> {
    let mut packed = ZlibEncoder::new(Vec::new(), Compression::fast());
    std::io::copy(&mut std::io::repeat(0).take(count), &mut packed).expect("packed");
    packed.finish().expect("packed")
}

/// Behind the head of a PNG that is whole.
fn with_chunk(png: &[u8], more: &[u8]) -> Vec<u8> {
    [&png[..33], more, &png[33..]].concat()
}

fn zip_tail() -> Vec<u8> {
    [b"PK\x03\x04".as_slice(), HIDDEN.as_bytes(), b"PK\x05\x06"].concat()
}

/// Four parts of colour, each in a scan of its own: the one scan of a grey picture, four times.
fn cmyk() -> Vec<u8> {
    let grey = sent_as(
        &DynamicImage::ImageLuma8(flag(64, 64).into_luma8()),
        ImageFormat::Jpeg,
    );
    let find = |what: [u8; 2]| {
        grey.windows(2)
            .position(|pair| pair == what)
            .expect("a marker")
    };
    let (frame, scan) = (find([0xff, 0xc0]), find([0xff, 0xda]));
    let dots = &grey[scan + 10..grey.len() - 2];
    let mut out = grey[..frame].to_vec();
    out.extend([0xff, 0xc0, 0, 20]);
    out.extend(&grey[frame + 4..frame + 9]);
    out.push(4);
    (1..=4).for_each(|part| out.extend([part, 0x11, 0]));
    out.extend(&grey[frame + 13..scan]);
    for part in 1..=4 {
        out.extend([0xff, 0xda, 0, 8, 1, part, 0, 0, 63, 0]);
        out.extend(dots);
    }
    out.extend([0xff, 0xd9]);
    out
}

/// RFC 9649, 2.7: an extended file with two frames.
fn moving_webp() -> Vec<u8> {
    let still = sent_as(&flag(40, 30), ImageFormat::WebP);
    let part = |kind: &[u8; 4], content: &[u8]| {
        let size = u32::try_from(content.len()).expect("short").to_le_bytes();
        [kind.as_slice(), &size, content].concat()
    };
    let mut frame = vec![0, 0, 0, 0, 0, 0, 39, 0, 0, 29, 0, 0, 100, 0, 0, 0];
    frame.extend(&still[12..]);
    let body = [
        b"WEBP".to_vec(),
        part(b"VP8X", &[0b10, 0, 0, 0, 39, 0, 0, 29, 0, 0]),
        part(b"ANIM", &[0; 6]),
        part(b"ANMF", &frame),
        part(b"ANMF", &frame),
    ]
    .concat();
    part(b"RIFF", &body)
}

/// Two frames after the PNG specification's third edition, 11.3.6.
fn moving_png() -> Vec<u8> {
    let mut control = vec![0, 0, 0, 0];
    control.extend(300_u32.to_be_bytes());
    control.extend(200_u32.to_be_bytes());
    control.extend([0; 8]);
    control.extend([0, 1, 0, 10, 0, 0]);
    let more = [
        chunk(b"acTL", &[0, 0, 0, 2, 0, 0, 0, 0]),
        chunk(b"fcTL", &control),
    ]
    .concat();
    with_chunk(&png(), &more)
}

fn deep() -> Vec<u8> {
    let dots = image::ImageBuffer::<image::Rgba<u16>, Vec<u16>>::from_pixel(
        90,
        60,
        image::Rgba([60_000, 4_000, 9, 30_000]),
    );
    sent_as(&DynamicImage::ImageRgba16(dots), ImageFormat::Png)
}

/// Text that unpacks to 200 MB.
fn text_bomb() -> Vec<u8> {
    let content = [b"Comment\0\0".to_vec(), packed_zeros(200_000_000)].concat();
    with_chunk(&png(), &chunk(b"zTXt", &content))
}

/// What it is called, its bytes, and whether it is made anew.
fn corpus() -> Vec<(&'static str, Vec<u8>, bool)> {
    let (jpeg, png) = (jpeg(), png());
    let webp = sent_as(&flag(300, 200), ImageFormat::WebP);
    let mut long_exif = jpeg.clone();
    for _ in 0..90 {
        let content = [b"Exif\0\0".as_slice(), HIDDEN.as_bytes(), &[7; 64_000]].concat();
        long_exif = with_segment(&long_exif, 0xe1, &content);
    }
    let page = format!("<html><body>{HIDDEN}</body></html><!--");
    let half = |whole: &[u8]| whole[..whole.len() / 2].to_vec();
    let text = chunk(b"tEXt", format!("Comment\0{HIDDEN}").as_bytes());
    vec![
        ("zero.jpg", Vec::new(), false),
        ("half.jpg", half(&jpeg), false),
        ("half.png", half(&png), false),
        ("half.webp", half(&webp), false),
        ("page.jpg", page.clone().into_bytes(), false),
        (
            "drawing.png",
            format!("<svg xmlns='http://www.w3.org/2000/svg'>{HIDDEN}</svg>").into_bytes(),
            false,
        ),
        (
            "moving.jpg",
            b"GIF89a\x01\0\x01\0\x80\0\0\xff\xff\xff\0\0\0,\0\0\0\0\x01\0\x01\0\0\x02\x02D\x01\0;"
                .to_vec(),
            false,
        ),
        (
            "paper.png",
            format!("%PDF-1.7 {HIDDEN}").into_bytes(),
            false,
        ),
        (
            "many_dots.png",
            [
                head(30_000, 30_000),
                chunk(b"IDAT", &packed_zeros(1_000_000)),
                chunk(b"IEND", b""),
            ]
            .concat(),
            false,
        ),
        (
            "long_line.png",
            [
                head(2_000_000_000, 1),
                chunk(b"IDAT", &packed_zeros(1_000)),
                chunk(b"IEND", b""),
            ]
            .concat(),
            false,
        ),
        (
            "no_dots.png",
            [
                head(0, 0),
                chunk(b"IDAT", &packed_zeros(10)),
                chunk(b"IEND", b""),
            ]
            .concat(),
            false,
        ),
        (
            "more_than_it_says.png",
            [
                head(10, 10),
                chunk(b"IDAT", &packed_zeros(300_000_000)),
                chunk(b"IEND", b""),
            ]
            .concat(),
            true,
        ),
        ("long_text.png", text_bomb(), true),
        ("long_exif.jpg", long_exif, true),
        (
            "page_inside.jpg",
            [with_segment(&jpeg, 0xfe, page.as_bytes()), zip_tail()].concat(),
            true,
        ),
        (
            "page_inside.png",
            [with_chunk(&png, &text), zip_tail()].concat(),
            true,
        ),
        ("tail.webp", [webp, zip_tail()].concat(), true),
        ("moving.png", moving_png(), true),
        ("moving.webp", moving_webp(), true),
        ("print.jpg", cmyk(), true),
        ("deep.png", deep(), true),
    ]
}

fn has(bytes: &[u8], what: &[u8]) -> bool {
    bytes.windows(what.len()).any(|part| part == what)
}

/// A JPEG of ours with nothing of what was sent around its dots.
fn is_made_anew(name: &str, served: &Answer) {
    assert_eq!(served.status, 200, "{name}");
    assert_eq!(
        (
            served.header("content-type"),
            served.header("x-content-type-options")
        ),
        ("image/jpeg", "nosniff"),
        "{name}"
    );
    let bytes = served.body();
    for hidden in [
        HIDDEN.as_bytes(),
        b"MillPhone",
        b"<html",
        b"PK\x03\x04",
        b"Exif",
        b"Comment",
    ] {
        assert!(!has(bytes, hidden), "{name} gives out {hidden:?}");
    }
    assert_eq!(
        image::guess_format(bytes).expect("a format"),
        ImageFormat::Jpeg,
        "{name}"
    );
    image::load_from_memory(bytes).expect("a whole picture");
}

on_both! {
    async fn bad_pictures_are_refused_within_a_second_or_made_anew_through_a_report_and_through_a_pack(club: TestClub) {
        let corpus = corpus();
        club.new_packs(corpus.len()).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        for (at, (name, bytes, is_kept)) in corpus.iter().enumerate() {
            let key = format!("key {at}");
            let told = ada.post("/offline", &[("key", &key), ("thing", "other"), ("own_words", name)]).await;
            let begun = Instant::now();
            let of_report = ada.send_file(told.done(), &[("key", &format!("photo {at}"))], ("photo", name, bytes)).await;
            let of_pack = quinn.send_file(&format!("/packs/P-{:03}/photos", at + 1), &[("key", &format!("pack {at}"))], ("photo", name, bytes)).await;
            let took = begun.elapsed();
            assert!(took < Duration::from_secs(2), "{name} took {took:?} twice");
            for answer in [&of_report, &of_pack] {
                assert_eq!(answer.status == 303, *is_kept, "{name}: {} {:?}", answer.status, answer.problems());
                assert!(*is_kept || answer.is_refused() && answer.problems().len() == 1, "{name}: {}", answer.status);
            }
        }
        let kept = corpus.iter().filter(|(_, _, is_kept)| *is_kept).count();
        assert_eq!((club.ids("photo").await.len(), club.find("SELECT 'one' FROM report_photo").await.len()), (kept, kept));
        for (at, (name, _, _)) in corpus.iter().enumerate().filter(|(_, one)| one.2) {
            let photo = club.find(&format!("SELECT CAST(p.original_sha256 AS TEXT) FROM photo p JOIN pack k ON k.id = p.pack_id WHERE k.number_key = {}", at + 1)).await;
            assert_eq!(photo, [sandbucket::ids::digest_of(&corpus[at].1)], "{name}: the digest of what was sent stays");
            let page = quinn.get(&format!("/packs/P-{:03}/photos", at + 1)).await;
            for image in page.select(".photos img") {
                is_made_anew(name, &quinn.get(image.attribute("src")).await);
            }
        }
        for id in club.ids("report WHERE id IN (SELECT report_id FROM report_photo)").await {
            is_made_anew("a report's", &quinn.get(&format!("/reports/{id}/photo")).await);
            is_made_anew("a report's", &quinn.get(&format!("/reports/{id}/photo/small")).await);
        }
    }
    async fn the_same_pictures_are_kept_by_the_book_and_as_a_receipt_only_as_they_are_made_anew(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        crate::book_actions::opened(&olive, &[]).await.done();
        quinn.post("/packs/P-001/way-out", &[("way", "retire"), ("reason", "old"), ("key", "r")]).await.done();
        let told = [("harmless", "packed"), ("taped", "yes"), ("handed_in", "The town"), ("disposed_on", "2026-11-25")];
        let mut last = Vec::new();
        for (name, bytes, is_kept) in corpus() {
            let attached = crate::book_begins::attach(&olive, name, &bytes).await;
            assert!(attached.status == 303 || !is_kept && attached.is_refused(), "{name}: {}", attached.status);
            let mut fields = told.to_vec();
            fields.push(("key", name));
            let receipt = quinn.send_file("/packs/P-001/disposal", &fields, ("photo", name, &bytes)).await;
            let asked = receipt.problems();
            assert!(receipt.is_refused() && asked.len() == 1, "{name}: {asked:?}");
            assert_eq!(asked[0].starts_with("It is for good."), is_kept, "{name}: {asked:?}");
            last = if is_kept { bytes } else { last };
        }
        for digest in club.find("SELECT sha256 FROM book_file").await {
            let served = olive.get(&format!("/book/I-001/files/{digest}")).await;
            if served.header("content-type") == "image/jpeg" {
                is_made_anew(&digest, &served);
            } else {
                assert!(served.header("content-disposition").starts_with("attachment"), "a document is never shown as a page");
                assert_eq!(served.header("x-content-type-options"), "nosniff");
            }
        }
        let mut fields = told.to_vec();
        fields.extend([("for_good", "yes"), ("key", "done")]);
        quinn.send_file("/packs/P-001/disposal", &fields, ("photo", "receipt.png", &last)).await.done();
        let at = "/packs/P-001/disposal/photo";
        for who in [&quinn, &olive] {
            assert!(who.get("/packs/P-001/disposal").await.text.contains("Photo of the receipt"));
            is_made_anew("the receipt", &who.get(at).await);
        }
        let ada = club.member("Ada").await;
        assert!(!ada.get("/packs/P-001/disposal").await.text.contains("Photo of the receipt"), "names may stand on it");
        assert_eq!((ada.get(at).await.status.as_u16(), club.visitor().get(at).await.status.as_u16()), (403, 303));
    }
}
