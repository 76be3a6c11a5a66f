//! What stands boxed on each page of a pack that may be dangerous, where a pack in quarantine lies and how one is got rid of: line by
//! line as it was checked against what was published. And that all pages say one thing of carrying it.

use crate::advice::{FIRST, is_as_checked};
use crate::support::*;

type Checked = (&'static str, &'static [&'static str]);

const NO_SOURCE: &str = "common practice, no source";
const HOT: Checked = (
    "Hot, hissing, smoking or still swelling: get away, keep others away and call the fire service.",
    &[
        "US Fire Administration, “Batteries”",
        "OSHA SHIB 01-18-2019",
    ],
);
const NEITHER: Checked = (
    "Cold and quiet: neither charge nor use it.",
    &["stop using it at smell, heat, change of shape, leak or noise"],
);
/// 30 minutes in a safe place; one caught fire after 25: none of it published for 60, which is longer.
const LEAVE: Checked = (
    "Nobody carries it while it is watched: it stays where it lies.",
    &[
        "25 minutes after a crash",
        "30 minutes in a safe place",
        NO_SOURCE,
    ],
);
const CARRY: Checked = (
    "Cold and quiet for an hour, it may be carried: in tongs, to a metal container outdoors, away from buildings and vehicles.",
    &["away from building and vehicle", NO_SOURCE],
);
const BELONGS: Checked = (
    "It belongs alone at a quarantine place, away from what burns.",
    &["3 m (10 ft) from what burns", "away from what burns"],
);
const ASK: Checked = (
    "Tell a quartermaster before you carry it. Where it goes is theirs to say.",
    &[NO_SOURCE],
);
const FOUND: Checked = (
    "Found? Leave it where it lies, keep others away and tell a quartermaster.",
    &[NO_SOURCE],
);
const BROUGHT: Checked = (
    "It is here: set it down outside, 3 m from walls and from anything that burns. Then nobody carries it on while it is watched.",
    &[
        "outside, 3 m from walls",
        "3 m (10 ft) from what burns",
        "watch outside",
    ],
);
const TELL: Checked = ("Tell a quartermaster now.", &[NO_SOURCE]);
const SMOKES: Checked = (
    "If it smokes, hisses, swells or is hot: don't touch it, get away, keep others away and call the fire service.",
    &["evacuate and call", "US Fire Administration, “Batteries”"],
);
const POISON: Checked = (
    "Its smoke is poisonous.",
    &["hydrogen fluoride in the smoke", "irritant gases are real"],
);
const HURT: Checked = (
    "Wet, leaking, hit, cut or with a smell: don't touch it, keep others away, and report it here.",
    &[
        "smell, heat, change of shape, leak",
        "irritant gases are real",
        "25 minutes after a crash",
        "the reaction may be delayed",
    ],
);
const WHOLE: Checked = (
    "Cold, dry and whole: don't charge it, bend it or open it. Keep it dry, away from what burns, its plugs touching nothing of metal, and give it back to somebody of the club.",
    &["no charging, puncturing, squeezing", NO_SOURCE],
);
const WRONG: Checked = (
    "Something is known to be wrong with this pack: don't touch it, cold and quiet too. Keep others away and tell the club.",
    &[
        "25 minutes after a crash",
        "the reaction may be delayed",
        NO_SOURCE,
    ],
);
const GONE: Checked = (
    "It should be gone: keep away from it and write to the club.",
    &[NO_SOURCE],
);

const LIES: [Checked; 6] = [
    (
        "One pack to a container.",
        &["neighbours in bags of their own were unharmed"],
    ),
    (
        "Metal or ceramic, with sand or clay litter, on ground that can't burn. Dry and cool.",
        &[
            "metal box with sand or litter",
            "dry, cool, fire-resistant container",
        ],
    ),
    (
        "Vented: the lid lies loose and is never clamped or airtight.",
        &["lid loose", "a sealed metal box is worst"],
    ),
    (
        "Outdoors or in a fire-rated place, marked as quarantine.",
        &["watch outside", NO_SOURCE],
    ),
    (
        "3 m from walls and from anything that burns.",
        &["3 m from walls", "3 m (10 ft) from what burns"],
    ),
    (
        "A tag on the container: number, date, reason.",
        &[NO_SOURCE],
    ),
];
const NOT_BESIDE: [Checked; 5] = [
    ("No pack that may still be used.", &[NO_SOURCE]),
    (
        "No fuel, solvent, paper, wood or cloth.",
        &["away from what burns"],
    ),
    ("No charger and no robot.", &[NO_SOURCE]),
    ("No vehicle.", &["away from building and vehicle"]),
    ("Not on an escape route.", &["not on escape routes"]),
];
const DISPOSAL: [Checked; 4] = [
    (
        "No salt bath: the tabs dissolve first, and the cells stay charged.",
        &["cells still charged after a summer", "salt bath"],
    ),
    (
        "Discharge only a pack that is undamaged, not swollen, and inside its limits: at no more than 0.1C, watched.",
        &["undamaged packs only, at no more than 0.1C"],
    ),
    (
        "Tape each terminal. Never into a household bin.",
        &["tape the terminals, never a household bin"],
    ),
    (
        "Hand it in where packs like it are taken; ask before you bring a damaged one. Check your local rules.",
        &[NO_SOURCE],
    ),
];

fn with_first(lines: &[Checked]) -> Vec<Checked> {
    [&[FIRST], lines].concat()
}

/// These lines, no other, in the box; and below it who says each, after the one that comes before all of them.
fn is_boxed(page: &Answer, lines: &[Checked]) {
    let words: Vec<&str> = lines.iter().map(|line| line.0).collect();
    assert_eq!(page.one("div.stop span"), words.join(" "), "{}", page.path);
    is_as_checked(
        &page.texts("details.figures ol.steps li"),
        &with_first(lines),
    );
}

async fn post(who: &Browser, to: &str, fields: &[(&str, &str)]) -> Answer {
    let key = sandbucket::ids::new_token();
    let mut all = vec![("key", key.as_str())];
    all.extend(fields);
    who.post(to, &all).await
}

/// Where the labels of the packs lead, in their order.
async fn labels(club: &TestClub, quinn: &Browser, count: usize) -> Vec<String> {
    for number in 1..=count {
        post(
            quinn,
            &format!("/packs/P-00{number}/label"),
            &[("what", "make")],
        )
        .await
        .done();
    }
    club.find("SELECT '/t/' || la.code FROM label la JOIN pack k ON k.id = la.pack_id ORDER BY k.number_key").await
}

on_both! {
    async fn every_boxed_line_is_one_that_was_checked_and_all_pages_say_one_thing_of_carrying_it(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let labels = labels(&club, &quinn, 2).await;
        let to = ada.id().to_string();
        post(&quinn, "/hand-out", &[("person", &to), ("items", "1")]).await.done();
        for number in ["P-001", "P-002"] {
            post(&ada, &format!("/packs/{number}/condition"), &[("seen", "wet")]).await.done();
        }
        let bring = format!("/mine/{}/bring-back", club.ids("lent").await[0]);
        let leads_to_bring = |page: &Answer| page.select("main a").iter().any(|link| link.attribute("href") == bring);
        let pages = ["/packs/P-001", &labels[0], "/packs/P-001/watch"];
        for path in pages {
            let page = ada.get(path).await;
            is_boxed(&page, &[HOT, NEITHER, LEAVE]);
            assert!(!leads_to_bring(&page), "{path}");
        }
        assert!(!leads_to_bring(&ada.get("/mine").await));
        let asked = ada.get(&bring).await;
        is_boxed(&asked, &[HOT, NEITHER, LEAVE]);
        assert!(asked.select("main form").is_empty() && asked.one(".first-do").contains("until 19:30"), "{}", asked.text);
        is_boxed(&quinn.get("/packs/P-002").await, &[HOT, NEITHER, LEAVE]);
        club.later_by_minutes(60);
        for path in pages {
            let page = ada.get(path).await;
            is_boxed(&page, &[HOT, NEITHER, CARRY]);
            assert!(path.ends_with("watch") || leads_to_bring(&page), "{path}");
        }
        let watch = quinn.get("/packs/P-002/watch").await;
        is_boxed(&watch, &[HOT, NEITHER, CARRY, BELONGS]);
        is_as_checked(&watch.texts("main > ol.steps li"), &[with_first(&LIES), NOT_BESIDE.to_vec()].concat());
        club.watches_are_over().await;
        is_boxed(&ada.get("/packs/P-001").await, &[HOT, NEITHER, ASK]);
        is_boxed(&quinn.get("/packs/P-002").await, &[HOT, NEITHER, BELONGS]);
        is_boxed(&quinn.get("/take-back/items?numbers=1").await, &[HOT, NEITHER, BROUGHT, TELL]);
        let brought = post(&ada, &bring, &[("seen", "nothing"), ("look", "nothing")]).await;
        is_boxed(&ada.get(brought.done()).await, &[HOT, NEITHER, BROUGHT, TELL]);
        post(&quinn, "/packs/P-002/way-out", &[("way", "retire"), ("reason", "wet")]).await.done();
        is_boxed(&quinn.get(&labels[1]).await, &[HOT, NEITHER, BELONGS]);
        let disposal = quinn.get("/packs/P-002/disposal").await;
        is_as_checked(&disposal.texts("ol.steps li"), &with_first(&DISPOSAL));
        is_boxed(&club.visitor().get("/t/0123456789abcdefghjkmnopqr").await, &[HOT]);
    }

    async fn whoever_finds_a_pack_is_told_by_what_is_known_of_it_also_where_it_was_noted_as_lost(club: TestClub) {
        club.fit_packs(5).await;
        let quinn = club.quartermaster().await;
        let labels = labels(&club, &quinn, 5).await;
        let visitor = club.visitor();
        post(&quinn, "/packs/P-002/condition", &[("seen", "leak")]).await.done();
        for number in [3, 4] {
            // The second of a day from one network sets aside alone.
            post(&visitor, &format!("{}/report", labels[number - 1]), &[("seen", "hit_or_bent")]).await.done();
        }
        post(&quinn, "/packs/P-002/way-out", &[("way", "lost"), ("reason", "not in its box")]).await.done();
        post(&quinn, "/packs/P-005/way-out", &[("way", "retire"), ("reason", "old")]).await.done();
        let packed = [("harmless", "packed"), ("taped", "yes"), ("handed_in", "The town"), ("disposed_on", "2026-11-25"), ("for_good", "yes")];
        post(&quinn, "/packs/P-005/disposal", &packed).await.done();
        for (label, cold) in labels.iter().zip([&[HURT, WHOLE][..], &[WRONG], &[WRONG], &[WRONG], &[GONE]]) {
            let page = visitor.get(label).await;
            let words = |lines: &[Checked]| lines.iter().map(|line| line.0).collect::<Vec<_>>().join(" ");
            assert_eq!(page.texts("p.stop span"), [words(&[SMOKES, POISON]), words(cold)], "{label}");
            is_as_checked(&page.texts("ol.steps li"), &with_first(&[&[SMOKES, POISON], cold].concat()));
        }
        for path in ["/packs/P-002", &labels[1]] {
            let lost = club.member("Ada").await.get(path).await;
            is_boxed(&lost, &[HOT, NEITHER, FOUND]);
            assert!(lost.one(".verdict").contains("Seen: Leaking."), "{}", lost.one(".verdict"));
            assert!(lost.select("a[href='/packs/P-002/condition']").len() == 1, "who finds it says what is wrong with it");
        }
    }

    async fn what_is_watched_is_not_brought_back_but_what_stands_before_a_quartermaster_is_recorded(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let to = ada.id().to_string();
        post(&quinn, "/hand-out", &[("person", &to), ("items", "1")]).await.done();
        post(&ada, "/packs/P-001/condition", &[("seen", "wet")]).await.done();
        let lent = club.ids("lent").await[0];
        let bring = format!("/mine/{lent}/bring-back");
        let refused = post(&ada, &bring, &[("seen", "nothing"), ("look", "nothing")]).await;
        let why = "Danger stands against it, and nobody carries it while it is watched: leave it where it lies. It may be brought back once its page says so.";
        assert_eq!(refused.problems(), [why]);
        let swollen = post(&ada, &bring, &[("seen", "swollen"), ("look", "wrong")]).await;
        assert!(swollen.problems()[0].contains("What you see on it is stored."), "{:?}", swollen.problems());
        let twice = [("seen", "too_hot_to_hold"), ("look", "wrong"), ("key", "twice")];
        assert!(ada.post(&bring, &twice).await.is_refused());
        let log = "SELECT CAST(COUNT(*) AS TEXT) FROM activity";
        let before = club.find(log).await;
        assert_eq!(ada.post(&bring, &twice).await.done(), bring, "stored once");
        assert_eq!(club.find(log).await, before);
        assert_eq!(club.find("SELECT rule FROM finding WHERE closed_ms IS NULL ORDER BY rule").await, ["swollen", "too_hot_to_hold", "wet"]);
        assert_eq!(club.find("SELECT COALESCE(outcome, 'out') FROM lent").await, ["out"], "it is with her still");
        let look = format!("look-{lent}");
        let taken = post(&quinn, "/take-back/items", &[("shown", &lent.to_string()), (&look, "nothing")]).await;
        is_boxed(&quinn.get(taken.done()).await, &[HOT, NEITHER, BROUGHT, TELL]);
        assert_eq!(club.find("SELECT outcome FROM lent").await, ["back"], "it did arrive");
        assert_eq!(club.first_break().await, None);
    }
}
