//! Labels: sheets of them as paper, read back by a reader written by others from a picture made by another program; what
//! their codes open for whom; reissuing and revoking.

use crate::support::*;
use std::io::Write;
use std::process::{Command, Stdio};

/// The address of the tests' server; the machine's own are offered beside it.
const HERE: (&str, &str) = ("base", "http://127.0.0.1:8080");
/// 300 dots an inch.
const DOTS_PER_MM: f64 = 300.0 / 25.4;

/// A page of grey dots.
struct Raster {
    width: usize,
    height: usize,
    dots: Vec<u8>,
}

impl Raster {
    /// Poppler's pdftoppm makes the picture.
    fn pages(pdf: &[u8]) -> Vec<Self> {
        let mut child = Command::new("pdftoppm")
            .args(["-gray", "-r", "300"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("pdftoppm of poppler-utils");
        let mut sent = child.stdin.take().expect("its input");
        let pdf = pdf.to_vec();
        let sender = std::thread::spawn(move || sent.write_all(&pdf));
        let made = child.wait_with_output().expect("pictures");
        sender.join().expect("sent").expect("sent");
        let mut rest = made.stdout.as_slice();
        let mut pages = Vec::new();
        while !rest.is_empty() {
            // P5, width, height, 255, each followed by one white space.
            let mut head = rest.splitn(4, |byte| byte.is_ascii_whitespace());
            assert_eq!(head.next(), Some(b"P5".as_slice()));
            let mut number = || -> usize {
                std::str::from_utf8(head.next().expect("a number"))
                    .expect("digits")
                    .parse()
                    .expect("a number")
            };
            let (width, height) = (number(), number());
            let body = head
                .next()
                .expect("the most")
                .strip_prefix(b"255\n")
                .expect("255 greys");
            let (dots, after) = body.split_at(width * height);
            pages.push(Self {
                width,
                height,
                dots: dots.to_vec(),
            });
            rest = after;
        }
        pages
    }

    /// What lies between these corners, in mm.
    fn part(&self, from: (f64, f64), to: (f64, f64)) -> Self {
        let dot = |mm: f64| (mm * DOTS_PER_MM).round() as usize;
        let (columns, rows) = (dot(from.0)..dot(to.0), dot(from.1)..dot(to.1));
        let dots = rows
            .clone()
            .flat_map(|y| self.dots[y * self.width..][columns.clone()].to_vec());
        Self {
            dots: dots.collect(),
            width: columns.len(),
            height: rows.len(),
        }
    }

    /// What rqrr reads on it. Of the finders of many codes at once it also tries some that do not belong together.
    fn codes(&self) -> Vec<String> {
        let dot = |x: usize, y: usize| self.dots[y * self.width + x];
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(self.width, self.height, dot);
        let grids = picture.detect_grids();
        let read = grids.iter().filter_map(|grid| grid.decode().ok());
        read.map(|(_, address)| address).collect()
    }

    fn blacken(&mut self, from: (f64, f64), to: (f64, f64)) {
        let dot = |mm: f64| (mm * DOTS_PER_MM) as usize;
        for y in dot(from.1)..dot(to.1) {
            for x in dot(from.0)..dot(to.0) {
                self.dots[y * self.width + x] = 0;
            }
        }
    }

    /// Left, top, right and bottom of what is dark between these corners, in mm.
    fn dark(&self, from: (f64, f64), to: (f64, f64)) -> (f64, f64, f64, f64) {
        let dot = |mm: f64| (mm * DOTS_PER_MM).round() as usize;
        let (mut left, mut top, mut right, mut bottom) = (usize::MAX, usize::MAX, 0, 0);
        for y in dot(from.1)..dot(to.1).min(self.height) {
            for x in dot(from.0)..dot(to.0).min(self.width) {
                if self.dots[y * self.width + x] < 128 {
                    (left, top) = (left.min(x), top.min(y));
                    (right, bottom) = (right.max(x + 1), bottom.max(y + 1));
                }
            }
        }
        let mm = |dot: usize| dot as f64 / DOTS_PER_MM;
        (mm(left), mm(top), mm(right), mm(bottom))
    }
}

async fn made(quinn: &Browser, numbers: &str, more: &[(&str, &str)]) -> String {
    let fields = [&[("numbers", numbers), HERE], more].concat();
    quinn.post("/labels", &fields).await.done().to_owned()
}

async fn sheet(quinn: &Browser, numbers: &str, more: &[(&str, &str)]) -> Vec<Raster> {
    let ready = quinn.get(&made(quinn, numbers, more).await).await;
    let pdf = quinn
        .get(ready.select("main a.main")[0].attribute("href"))
        .await;
    assert_eq!(
        (pdf.status.as_u16(), pdf.header("content-type")),
        (200, "application/pdf")
    );
    Raster::pages(pdf.body())
}

async fn codes(club: &TestClub) -> Vec<String> {
    club.find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE la.ended_ms IS NULL ORDER BY k.number_key").await
}

fn is_about(measured: f64, wanted: f64) -> bool {
    (measured - wanted).abs() <= 0.5
}

on_both! {
    async fn a_sheet_of_labels_is_read_back_where_it_should_lie_on_either_paper(club: TestClub) {
        club.fit_packs(26).await;
        let quinn = club.quartermaster().await;
        // Sheet, its paper in mm, how many a page and across, the first label's corner, and the steps to the next, in mm.
        for (name, paper, per_page, columns, (left, top), (right, down)) in [
            ("a4-21", (210.0, 297.0), 21, 3, (7.25, 15.15), (66.0, 38.1)),
            ("letter-30", (215.9, 279.4), 30, 3, (4.76, 12.7), (69.85, 25.4)),
        ] {
            let pages = sheet(&quinn, "1-26", &[("sheet", name)]).await;
            let known = codes(&club).await;
            assert_eq!(pages.len(), 26_usize.div_ceil(per_page), "{name}");
            for (index, code) in known.iter().enumerate() {
                let page = &pages[index / per_page];
                assert!(is_about(page.width as f64 / DOTS_PER_MM, paper.0) && is_about(page.height as f64 / DOTS_PER_MM, paper.1));
                let (column, row) = ((index % per_page % columns) as f64, (index % per_page / columns) as f64);
                let (x, y) = (left + column * right, top + row * down);
                let label = page.part((x, y), (x + down, y + down));
                assert_eq!(label.codes(), [format!("http://127.0.0.1:8080/t/{code}")], "{name} {index}");
                // A square as high as its label and at its left edge, a quiet border of 4 modules around 37: all that is
                // dark in it lies inside the border.
                let module = down / 45.0;
                let dark = page.dark((x + 0.1, y + 0.1), (x + down - 0.1, y + down - 0.1));
                let wanted = (x + 4.0 * module, y + 4.0 * module, x + 41.0 * module, y + 41.0 * module);
                for (seen, wanted) in [(dark.0, wanted.0), (dark.1, wanted.1), (dark.2, wanted.2), (dark.3, wanted.3)] {
                    assert!(is_about(seen, wanted), "{name} {index}: {dark:?}, wanted {wanted:?}");
                }
                assert!(dark.2 - dark.0 >= 20.0, "{} mm wide", dark.2 - dark.0);
            }
        }
    }

    async fn a_scuffed_code_is_still_read(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let mut page = sheet(&quinn, "1", &[("sheet", "a4-21")]).await.remove(0);
        let address = page.codes().remove(0);
        let (left, top, right, bottom) = page.dark((7.35, 15.25), (45.0, 53.0));
        let (from, to) = ((left, top), (right, bottom));
        let side = to.0 - from.0;
        // A patch of a tenth of it, right of the middle: off the three finders in the corners, the timing lines at module 6
        // and the alignment at module 30 of 37.
        let patch = side * 0.1_f64.sqrt();
        let at = (from.0 + side * 0.42, from.1 + side * 0.32);
        page.blacken(at, (at.0 + patch, at.1 + patch));
        let read = page.codes();
        assert_eq!(read.len(), 1);
        assert_eq!(read[0], address);
    }

    async fn flags_and_measured_sheets_and_half_used_ones_come_out(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        assert_eq!(sheet(&quinn, "1-3", &[("sheet", "a4-flag")]).await[0].codes().len(), 3);
        assert_eq!(sheet(&quinn, "1-3", &[("sheet", "letter-flag"), ("skip", "15")]).await.len(), 2, "one on the rest of the first sheet");
        let own = [("sheet", "own"), ("paper", "letter"), ("columns", "2"), ("rows", "4"), ("width", "50"), ("height", "30,5"), ("left", "10"), ("top", "12.7"), ("skip", "1"), ("cut", "yes")];
        let page = sheet(&quinn, "1-3", &own).await.remove(0);
        assert_eq!(page.part((10.0, 12.7), (60.0, 43.2)).codes(), [] as [String; 0], "the first label is left out");
        for corner in [(60.0, 12.7), (10.0, 43.2), (60.0, 43.2)] {
            assert_eq!(page.part(corner, (corner.0 + 50.0, corner.1 + 30.5)).codes().len(), 1, "{corner:?}");
        }
    }

    async fn a_sheet_that_can_not_be_is_refused_field_by_field_and_keeps_what_was_typed(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let before = club.contents().await;
        let own = |width: &'static str, height: &'static str| [("numbers", "1"), ("sheet", "own"), ("paper", "a4"), ("columns", "3"), ("rows", "8"), ("width", width), ("height", height)];
        for (fields, words) in [
            (vec![("numbers", "1")], "Choose the sheet of labels."),
            (vec![("sheet", "a4-21")], "Type the packs, or tick those without a label."),
            (vec![("numbers", "1 fifteen"), ("sheet", "a4-21")], "“fifteen” is no number. Type packs as 14 15 17-20."),
            (vec![("numbers", "C-01"), ("sheet", "a4-21")], "C-01 is no pack."),
            (vec![("numbers", "99"), ("sheet", "a4-21")], "Choose 1 to 500 packs."),
            (vec![("numbers", "1"), ("sheet", "a4-21"), ("skip", "21")], "Give 0 to 20: so many labels has a sheet, less one."),
            (own("71", "30").to_vec(), "Together they are 3 mm wider than the paper."),
            (own("70", "38").to_vec(), "Together they are 7 mm higher than the paper."),
            (own("wide", "30").to_vec(), "Give millimetres, like 38.1."),
            (own("60", "20").to_vec(), "Too small: a phone needs a code of 20 mm and white around it. At least 24.33 mm high and 39.33 mm wide, with this address."),
        ] {
            let refused = quinn.post("/labels", &[&fields[..], &[HERE]].concat()).await;
            assert_eq!(refused.problems(), [words], "{fields:?}");
            for (name, value) in fields.iter().filter(|(name, _)| ["numbers", "width"].contains(name)) {
                assert!(refused.select(&format!("#f-{name}"))[0].attribute("value") == *value, "{name}");
            }
        }
        assert_eq!(club.contents().await, before);
    }

    async fn a_label_is_made_once_and_printed_as_often_as_wanted(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        made(&quinn, "1", &[("sheet", "a4-21")]).await;
        let first = codes(&club).await;
        let ready = made(&quinn, "", &[("sheet", "a4-21"), ("lacking", "yes")]).await;
        assert!(quinn.get(&ready).await.one("[role=status]").starts_with("Packs 2-3, on one sheet."));
        let page = quinn.get("/labels").await;
        assert!(page.select("[name=lacking]").is_empty(), "no pack lacks one now");
        made(&quinn, "1-3", &[("sheet", "letter-10")]).await;
        let after = codes(&club).await;
        assert_eq!((after.len(), &after[..1]), (3, &first[..]));
        let log = quinn.get("/packs/P-001").await.texts("ol.log li span");
        assert!(log[0].ends_with("label printed again") && log[1].contains("label made"), "{log:?}");
        let (again, other) = ([("numbers", "1"), ("sheet", "a4-21"), HERE, ("key", "one")], [("numbers", "1-2"), ("sheet", "a4-21"), HERE, ("key", "one")]);
        let (one, two) = (quinn.post("/labels", &again).await, quinn.post("/labels", &again).await);
        assert_eq!(one.done(), two.done());
        assert_eq!(quinn.post("/labels", &other).await.status, 409);
    }

    async fn no_label_is_made_for_a_pack_out_of_use(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/way-out", &[("way", "retire"), ("reason", "old")]).await.done();
        let refused = quinn.post("/labels", &[("numbers", "1"), ("sheet", "a4-21"), HERE]).await;
        assert_eq!(refused.problems(), ["P-001 is not in use and gets no label."]);
        assert_eq!(quinn.post("/packs/P-001/label", &[("what", "make")]).await.status, 409);
        assert!(codes(&club).await.is_empty());
        club.more_packs(1).await;
        let ready = quinn.get(&made(&quinn, "1-2", &[("sheet", "a4-21")]).await).await;
        assert_eq!((ready.one("h1").as_str(), ready.texts(".notice")[0].as_str()), ("1 label is ready", "Left out, not in use or without a label: P-001."));
    }

    async fn a_reissued_label_leads_nowhere_and_so_does_a_revoked_one(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        made(&quinn, "1", &[("sheet", "a4-21")]).await;
        let first = codes(&club).await.remove(0);
        assert_eq!(quinn.get(&format!("/t/{first}")).await.status, 200);
        let page = quinn.get("/packs/P-001/label").await;
        let ask = quinn.get(page.select("main a[href$='ask=reissue']")[0].attribute("href")).await;
        assert!(ask.one(".first-do").starts_with("Reissue the label of P-001?"));
        quinn.submit(&ask, "main form", &[]).await.done();
        let second = codes(&club).await.remove(0);
        assert_ne!(first, second);
        let ask = quinn.get("/packs/P-001/label?ask=revoke").await;
        for (code, status) in [(&first, 404), (&second, 200)] {
            assert_eq!(quinn.get(&format!("/t/{code}")).await.status, status);
        }
        quinn.submit(&ask, "main form", &[]).await.done();
        assert_eq!(quinn.get(&format!("/t/{second}")).await.status, 404);
        assert_eq!(quinn.post("/packs/P-001/label", &[("what", "revoke")]).await.status, 409, "there is none to revoke");
        assert!(quinn.get("/packs/P-001/label").await.one(".empty").contains("has no label that works"));
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let third = codes(&club).await.remove(0);
        assert!(third != first && third != second);
        let log = quinn.get("/packs/P-001").await.texts("ol.log li span").join(" | ");
        assert!(log.contains("label revoked") && log.contains("label reissued; the old one leads nowhere"), "{log}");
        for code in [first, second, third] {
            assert!(!log.contains(&code), "what opens a page stands in no log");
        }
    }

    async fn making_a_label_on_an_old_page_leaves_the_one_that_was_made_since(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let old = quinn.get("/packs/P-001/label").await;
        made(&quinn, "1", &[("sheet", "a4-21")]).await;
        let code = codes(&club).await;
        quinn.submit(&old, "main form", &[]).await.done();
        assert_eq!(codes(&club).await, code);
        assert!(quinn.get("/packs/P-001/label").await.one(".notice").contains("no phone can open it"));
        let ready = quinn.get(&made(&quinn, "1 998-999", &[("sheet", "a4-21")]).await).await;
        assert!(ready.one("[role=status]").starts_with("Packs 1, on one sheet."));
        assert_eq!(ready.texts(".notice")[0], "There is no 998-999.");
    }

    async fn one_label_alone_is_drawn_with_its_number_and_read_back(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        assert_eq!(quinn.get("/packs/P-001/label.svg").await.status, 404);
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let drawn = quinn.get("/packs/P-001/label.svg").await;
        assert_eq!(drawn.header("content-type"), "image/svg+xml");
        for words in ["P-001", "3S 2200 mAh", "LiPo"] {
            assert!(drawn.text.contains(&format!(">{words}<")), "{words}: {}", drawn.text);
        }
        assert!(quinn.get("/packs/P-001/label").await.one("main code").contains(&codes(&club).await[0]));
        let told = async || quinn.get("/packs/P-001/label").await.one("main");
        assert!(told().await.contains("Not on a sheet yet."));
        made(&quinn, "1", &[("sheet", "a4-21")]).await;
        assert!(told().await.contains("Put on a sheet: today"));
        quinn.post("/packs/P-001/label", &[("what", "reissue"), ("key", "anew")]).await.done();
        assert!(told().await.contains("Not on a sheet yet."), "the new code is on no sheet");
    }

    async fn a_sheet_says_so_when_phones_may_not_open_its_address(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/labels").await.one("main").contains("no phone can open"));
        made(&quinn, "1", &[("sheet", "a4-21")]).await;
        let named = club.with_settings(|settings| settings.public_url = Some("https://packs.example.org".to_owned()));
        let there = Browser::new(&named, Some(quinn.id()));
        there.keep_cookie("__Host-sandbucket", &quinn.cookie("sandbucket").expect("signed in"));
        let told = there.get("/labels").await.texts(".notice").join(" ");
        assert!(told.contains("1 label was printed with another address than people use now, like http://127.0.0.1:8080"), "{told}");
        assert!(told.contains("Print it anew where they don't: 1."), "{told}");
        let labels = there.get("/labels").await;
        let anew = labels.select(".notice a")[0].attribute("href").to_owned();
        assert_eq!(there.get(&anew).await.select("#f-numbers")[0].attribute("value"), "1");
        assert!(there.get("/packs/P-001/label").await.texts(".notice").join(" ").contains("https://packs.example.org"));
        let offered = there.get("/labels").await.texts("#f-base label");
        let own = club.app.settings.machine_bases();
        assert!(!own.is_empty(), "this machine has an address in a network");
        assert!(own.iter().all(|address| offered.iter().any(|told| told.starts_with(address.as_str()))), "{offered:?}");
        let code = codes(&club).await.remove(0);
        let old = there.again().called("127.0.0.1:8080").get(&format!("/t/{code}")).await;
        assert_eq!(old.status, 200, "old addresses go on working");
        there.post("/labels", &[("numbers", "1"), ("sheet", "a4-21"), ("base", "https://packs.example.org")]).await.done();
        let mended = there.get("/labels").await;
        assert!(mended.select(".notice").is_empty() && mended.select("#f-base").is_empty());
    }
}
