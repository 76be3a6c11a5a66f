//! Role, route and owner: for every address that names one thing, what each kind of person gets who asks for it, the one
//! whose thing it is included. One table says it all; a route with an id and without a line in it fails.
//! `scene` makes the things and the people. Extra form fields are `smuggled`.

pub mod scene;
mod smuggled;

use crate::support::*;
use scene::{CAST, Scene};
use std::collections::BTreeSet;

/// What somebody gets.
/// `ok`: the page, or it is done and the log (or the list of sessions) says so. In every other case nothing changes:
/// `in`: led to signing in. `no`: not for that role. `hid`: there is no such thing for them.
/// `ref`: the rule refuses, with a sentence. `nil`: the same answer as for `ok`, without an effect.
#[derive(Clone, Copy)]
pub struct Line {
    /// Method and address as the table of routes has them; a note in brackets tells lines of one route apart.
    pub route: &'static str,
    /// What is sent; `@page` stands for the form as that page fills it in.
    pub form: &'static str,
    /// In the order of [`CAST`].
    pub gets: &'static str,
}

const fn line(route: &'static str, gets: &'static str, form: &'static str) -> Line {
    Line { route, form, gets }
}

#[rustfmt::skip]
pub const TABLE: &[Line] = &[
    //                                               nobody owner other quarterm. organiser tablet deactiv. ended
    line("GET /static/{build}/{name}",               "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("GET /join/{token}",                        "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /join/{token}",                       "ok    ok    ok    ok        ok        ok     ok       ok", "sign_in={new}&password={password}"),
    line("GET /calendar/{token}",                    "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("GET /reset/{token}",                       "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /reset/{token}",                      "ok    ok    ok    ok        ok        ok     ok       ok", "password={password}"),
    line("GET /loans/{id}",                          "in    ok    hid   ok        ok        ok     in       in", ""),
    line("POST /loans/{id}/extend",                  "in    no    no    ok        no        ok     in       in", "due=2026-12-10"),
    line("GET /lent/{id}/change",                    "in    no    no    ok        no        ok     in       in", ""),
    line("GET /lent/{id}/lost",                      "in    no    no    ref       no        ref    in       in", ""),
    line("POST /lent/{id}/pass-on",                  "in    no    no    ok        no        ok     in       in", "person={other}"),
    line("POST /lent/{id}/lost",                     "in    no    no    ok        no        ok     in       in", "reason=in the river"),
    line("POST /lent/{id}/reopen",                   "in    no    no    ok        no        ok     in       in", ""),
    line("GET /mine/{lent}/bring-back",              "in    ok    hid   hid       hid       hid    in       in", ""),
    line("POST /mine/{lent}/bring-back",             "in    ok    hid   hid       hid       hid    in       in", "seen=nothing"),
    line("GET /mine/{lent}/brought-back",            "in    ok    hid   hid       hid       hid    in       in", ""),
    line("POST /mine/actions/{action}",              "in    ok    hid   hid       hid       hid    in       in", "words-{id}=tiles laid"),
    line("GET /packs/{number}",                      "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/readings",             "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/volts",                "in    ok    ok    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/volts",               "in    ok    ok    ok        no        ok     in       in", "volts_line=3.82 3.81 3.82&rested=rested_an_hour"),
    line("GET /packs/{number}/charge",               "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/charge.pdf",           "in    ok    ok    ok        ok        ok     in       in", "purpose=no_hurry&at=23%3A59&room=21&pack=21"),
    line("POST /packs/{number}/charge",              "in    ok    ok    ok        no        ok     in       in", "purpose=no_hurry&minutes=240&room=21&pack=21&shown_ms={now_ms}&charger={charger}&mode=balance&current_ma=2200&plan={charger}/0/mains//balance/2200/12600/1670/80/read/-"),
    line("GET /charges/{id}",                        "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /charges/{id}/end",                   "in    ok    ok    ok        no        ok     in       in", "outcome=finished&mah=100"),
    line("POST /charges/{id}/read-back",             "in    ok    ok    ok        no        ok     in       in", ""),
    line("GET /charges/{id}/hand-over",              "in    no    no    ok        no        ok     in       in", ""),
    line("POST /charges/{id}/hand-over",             "in    ok    ref   ok        no        ok     in       in", "watched_by={owner}&handed=0"),
    line("GET /packs/{number}/condition",            "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /packs/{number}/condition",           "in    ok    ok    ok        ok        ok     in       in", "seen=wrap_torn"),
    line("POST /packs/{number}/mended",              "in    no    no    ok        no        ok     in       in", "finding={finding}&reason=taped"),
    line("POST /packs/{number}/release",             "in    no    no    ok        ref       ok     in       in", "release_reason=dry again"),
    line("GET /packs/{number}/watch",                "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /packs/{number}/watch",               "in    ok    ok    ok        ok        ok     in       in", "quiet=yes"),
    line("GET /packs/{number}/disposal",             "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /packs/{number}/disposal",            "in    no    no    ok        no        ok     in       in", "harmless=packed&taped=yes&handed_in=the town&disposed_on=2026-11-25&for_good=yes"),
    line("GET /packs/{number}/disposal/photo",       "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /book/{incident}",                     "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /book/{incident}/export.zip",          "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /book/{incident}/export.pdf",          "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /book/{incident}",                    "in    no    no    ok        ok        ok     in       in", "what=timeline&words=sand was put on it"),
    line("POST /book/{incident}/files",              "in    no    no    ref       ref       ref    in       in", ""),
    line("GET /book/{incident}/files/{file}",        "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/way-out",              "in    no    no    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/way-out",             "in    no    no    ok        no        ok     in       in", "way=retire&reason=old"),
    line("GET /packs/{number}/details",              "in    no    no    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/details",             "in    no    no    ok        no        ok     in       in", "@/packs/{number}/details&notes=new wrap"),
    line("GET /t/{code}/report",                     "ok    nil   nil   nil       nil       nil    ok       ok", ""),
    line("POST /t/{code}/report",                    "ok    ok    ok    ok        ok        ok     ok       ok", "seen=wrap_torn"),
    line("GET /p/{code}",                            "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /p/{code}",                           "ok    ok    ok    ok        ok        ok     ok       ok", "thing=socket&own_words=it is loose"),
    line("GET /reported/{token}",                    "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /reported/{token}",                   "ref   ref   ref   ref       ref       ref    ref      ref", ""),
    line("GET /reports/{id}",                        "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /reports/{id}",                       "in    no    no    ok        ok        ok     in       in", "what=look&was_so=no&looked=it lay there dry"),
    line("GET /reports/{id}/erase",                  "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /reports/{id}/erase",                 "in    no    no    ok        ok        ok     in       in", "photo=yes&why=they asked for it"),
    line("GET /reports/{id}/photo",                  "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /reports/{id}/photo/small",            "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /posters/{id}",                        "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /posters/{id}/code.svg",               "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /posters/{id}/poster.pdf",             "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /posters/{id}/end",                   "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/photos",               "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /packs/{number}/photos",              "in    ref   ref   ref       no        ref    in       in", ""),
    line("GET /packs/{number}/photos/{photo}",       "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/photos/{photo}/small", "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /packs/{number}/photos/{photo}/remove", "in    no    no    ok        no        ok     in       in", ""),
    line("GET /packs/{number}/charge-logs",          "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/charge-logs/new",      "in    ok    ok    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/charge-logs/new",     "in    ref   ref   ref       no        ref    in       in", ""),
    line("GET /charge-logs/read-back/{id}",          "in    hid   hid   ok        no        hid    in       in", ""),
    line("POST /charge-logs/read-back/{id}",         "in    hid   hid   ok        no        hid    in       in", ""),
    line("POST /charge-logs/read-back/{id}/choices", "in    hid   hid   ok        no        hid    in       in", "second=5&logged_on=2026-11-24"),
    line("POST /charge-logs/read-back/{id}/forget",  "in    hid   hid   ok        no        hid    in       in", ""),
    line("GET /charge-logs/{id}",                    "in    ok    ok    ok        ok        ok     in       in", ""),
    line("POST /charge-logs/{id}/remove",            "in    no    no    ok        no        ok     in       in", ""),
    line("GET /packs/{number}/over-time",            "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /designs/{id}/compare",                "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/back",                 "in    no    no    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/back",                "in    no    no    ok        no        ok     in       in", "place={finding}"),
    line("GET /packs/{number}/label",                "in    no    no    ok        no        ok     in       in", ""),
    line("POST /packs/{number}/label",               "in    no    no    ok        no        ok     in       in", "what=reissue"),
    line("GET /packs/{number}/label.svg",            "in    no    no    ok        no        ok     in       in", ""),
    line("GET /t/{code}",                            "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("GET /designs/{id}",                        "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /designs/{id}",                       "in    no    no    ok        no        ok     in       in", "@/designs/{id}&name=Mill 3S renamed {new}"),
    line("GET /kit/{id}",                            "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /kit/{id}/change",                     "in    no    no    ok        no        ok     in       in", ""),
    line("POST /kit/{id}/change",                    "in    no    no    ok        no        ok     in       in", "@/kit/{id}/change&name=the red one"),
    line("POST /kit/{id}/set-aside",                 "in    ok    ok    ok        ok        ok     in       in", "set_aside=a bent pin"),
    line("POST /kit/{id}/looked-over",               "in    no    no    ok        no        ok     in       in", "wrong="),
    line("POST /kit/{id}/mend",                      "in    no    no    ok        no        ok     in       in", "mended=new plug"),
    line("POST /kit/{id}/count",                     "in    no    no    ok        no        ok     in       in", "owned_count=9"),
    line("GET /kit/{id}/way-out",                        "in    no    no    ok        no        ok     in       in", ""),
    line("POST /kit/{id}/way-out",                       "in    no    no    ok        no        ok     in       in", "life=retired&why=worn out"),
    line("GET /kit/{id}/gone",                           "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /connectors/{code}",                       "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /connectors/{code}",                      "in    no    no    ok        no        ok     in       in", "@/connectors/{code}&name=Hall plug of the mill"),
    line("POST /connectors/{code}/remove",               "in    no    no    ok        no        ok     in       in", ""),
    line("GET /places/{id}",                         "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /places/{id}",                        "in    no    no    ok        no        ok     in       in", "@/places/{id}&notes=behind the door"),
    line("POST /places/{id}/close",                  "in    no    no    ok        no        ok     in       in", ""),
    line("POST /places/{id}/reopen",                     "in    no    no    ok        no        ok     in       in", ""),
    line("GET /events/{id}",                         "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /events/{id}",                        "in    no    no    ok        ok        ok     in       in", "@/events/{id}&name=Spring Bouts {new}"),
    line("POST /events/{id}/end",                    "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /events/{id}/call-off",               "in    no    no    ok        ok        ok     in       in", "is_sure=yes"),
    line("GET /storage-rounds/{id}",                 "in    no    no    ok        ok        ok     in       in", ""),
    line("POST /storage-rounds/{id}/add",            "in    no    no    ok        no        ok     in       in", "add={charger}"),
    line("POST /storage-rounds/{id}/read",           "in    no    no    ok        no        ok     in       in", "pack={finding}&volts_line=3.86 3.85 3.86&rested=rested_an_hour"),
    line("GET /storage-rounds/{id}/home",            "in    no    no    ok        no        ok     in       in", ""),
    line("POST /storage-rounds/{id}/home",           "in    no    no    ok        no        ok     in       in", "home_pack={finding}&person={other}&by=2026-11-28"),
    line("POST /storage-rounds/{id}/close",          "in    no    no    ok        no        ok     in       in", ""),
    line("GET /people/{id}",                         "in    no    no    ok        ok        ok     in       in", ""),
    line("GET /people/{id}/induction",               "in    no    no    ok        no        ok     in       in", ""),
    line("POST /people/{id}/induction",              "in    no    no    ok        no        ok     in       in", "shown_by={rosa}&shown_on=2026-11-20"),
    line("GET /people/{id}/roles",                   "in    no    no    ok        ok        no     in       in", ""),
    line("POST /people/{id}/roles",                  "in    no    no    ok        ref       no     in       in", "roles=member&roles=quartermaster&responsible="),
    line("POST /people/{id}/roles (the organiser's)", "in    no    no    ref       ok        no     in       in", "roles=member&roles=organiser&responsible="),
    line("POST /people/{id}/link",                   "in    no    no    ok        ref       no     in       in", "token={token}"),
    line("POST /people/{id}/link (an organiser)",    "in    no    no    ref       ok        no     in       in", "token={token}"),
    line("POST /people/{id}/deactivate",             "in    no    no    ok        ref       no     in       in", ""),
    line("POST /people/{id}/deactivate (an organiser)", "in    no    no    ref       ok        no     in       in", ""),
    line("POST /people/{id}/reactivate",             "in    no    no    ok        ref       no     in       in", ""),
    line("GET /people/{id}/erase",                   "in    no    no    ok        ok        no     in       in", ""),
    line("POST /people/{id}/erase",                  "in    no    no    ok        ref       no     in       in", ""),
    line("POST /people/{id}/erase (an organiser)",   "in    no    no    ref       ok        no     in       in", ""),
    line("POST /me/sessions/{id}/end",               "in    ok    nil   nil       nil       no     in       in", ""),
    line("POST /me/phones/{id}/end",                 "in    ok    nil   nil       nil       no     in       in", ""),
    line("POST /me/tokens/{id}/end",                 "in    ok    nil   nil       nil       no     in       in", ""),
    line("GET /bring-in/{id}",                       "in    no    no    ok        no        hid    in       in", ""),
    line("POST /bring-in/{id}",                      "in    no    no    ok        no        hid    in       in", ""),
    line("GET /bring-in/{id}/columns",               "in    no    no    ok        no        hid    in       in", ""),
    line("POST /bring-in/{id}/columns",              "in    no    no    ok        no        hid    in       in", "column_design=1"),
    line("GET /bring-in/{id}/questions",             "in    no    no    ok        no        hid    in       in", ""),
    line("POST /bring-in/{id}/questions",            "in    no    no    ok        no        hid    in       in", "days=day_first"),
    line("POST /bring-in/{id}/remove",               "in    no    no    ok        no        hid    in       in", ""),
    line("GET /bring-in/{id}/done",                  "in    no    no    ok        no        hid    in       in", ""),
    line("GET /packs/{number}/readings.csv",         "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /packs/{number}/charges.csv",          "in    ok    ok    ok        ok        ok     in       in", ""),
    line("GET /mails/{id}",                          "in    ok    hid   ok        ok        ok     in       in", ""),
    line("GET /confirm-address/{token}",             "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /confirm-address/{token}",            "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("GET /unsubscribe/{token}",                 "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /unsubscribe/{token}",                "ok    ok    ok    ok        ok        ok     ok       ok", ""),
    line("POST /tablets/{id}/end",                   "in    no    no    ok        no        no     in       in", ""),
];

impl Line {
    pub fn method_and_path(&self) -> (&'static str, &'static str) {
        let route = self.route.split(" (").next().unwrap_or_default();
        route.split_once(' ').expect("a method and an address")
    }

    pub fn gets(&self) -> Vec<&'static str> {
        self.gets.split_whitespace().collect()
    }
}

#[test]
fn every_route_that_names_one_thing_has_a_line() {
    let routes: BTreeSet<String> = every_route()
        .into_iter()
        .filter(|(_, path, _)| path.contains('{'))
        .map(|(method, path, _)| format!("{method} {path}"))
        .collect();
    let lines: BTreeSet<String> = TABLE
        .iter()
        .map(|line| {
            let (method, path) = line.method_and_path();
            format!("{method} {path}")
        })
        .collect();
    assert_eq!(lines, routes);
    for line in TABLE {
        assert_eq!(line.gets().len(), CAST.len(), "{}", line.route);
    }
}

/// The word of the table for this answer; `changed`: did the log or the list of sessions?
fn got(answer: &Answer, changed: bool) -> &'static str {
    let place = answer.location.as_deref().unwrap_or_default();
    let is_led = place.starts_with("/sign-in?next=");
    match answer.status.as_u16() {
        401 => "in",
        303 if is_led => "in",
        403 => "no",
        404 => "hid",
        409 | 422 => "ref",
        200 if answer.headers.contains_key("content-type") && !changed => "page",
        200 | 303 if changed => "ok",
        303 => "nil",
        _ => "something else",
    }
}

on_both! {
    async fn each_person_gets_of_each_thing_what_the_table_says(club: TestClub) {
        let scene = Scene::set(&club).await;
        let mut wrong = Vec::new();
        for line in TABLE {
            let (method, _) = line.method_and_path();
            let is_page = method == "GET";
            let first = scene.thing_for(line).await;
            let before = club.contents().await;
            let gets = line.gets();
            let refused = (0..CAST.len()).filter(|at| is_page || gets[*at] != "ok");
            for at in refused {
                let answer = scene.ask(at, line, &first).await;
                let wanted = if is_page && gets[at] == "ok" { "page" } else { gets[at] };
                if got(&answer, false) != wanted {
                    wrong.push(format!("{} by {}: {} instead of {wanted}", line.route, CAST[at], answer.status));
                }
                let names_holder = answer.text.contains(scene::OWNER);
                assert!(CAST[at] != "another member" || !names_holder, "{} tells a member who has it", line.route);
            }
            for (table, rows) in club.contents().await {
                // That a card was shown is kept, of whoever looked at it.
                if is_page && table == "card_shown" {
                    continue;
                }
                let new: Vec<&String> = rows.iter().filter(|row| !before[&table].contains(row)).collect();
                if before[&table] != rows {
                    wrong.push(format!("{}: a refused person changed {table}: {new:?}", line.route));
                }
            }
            for at in (0..CAST.len()).filter(|at| !is_page && gets[*at] == "ok") {
                let thing = scene.thing_for(line).await;
                let before = scene.pulse().await;
                let answer = scene.ask(at, line, &thing).await;
                let changed = scene.pulse().await != before;
                if got(&answer, changed) != "ok" {
                    wrong.push(format!("{} by {}: {} to {:?} ({:?}), changed: {changed}", line.route, CAST[at], answer.status, answer.location, answer.problems()));
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
        assert_eq!(club.first_break().await, None);
    }
}
