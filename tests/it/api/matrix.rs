//! Role, route and owner: every operation asked by each kind of program, with the document's own example.

use super::document::operations;
use super::examples::asked;
use super::program::*;
use crate::every_owner::scene::Scene;
use crate::support::*;
use sandbucket::club::people::{Role, Roles};
use sandbucket::web::api::{document, table};
use sandbucket::web::gate::Who;

/// Name, roles of the person while the token works, whether it may change, and the program.
struct Cast {
    name: &'static str,
    roles: Option<Roles>,
    may_change: bool,
    program: Program,
}

async fn cast(club: &TestClub, scene: &Scene<'_>) -> Vec<Cast> {
    let member = Roles {
        is_member: true,
        ..Roles::default()
    };
    let quartermaster = Roles {
        is_quartermaster: true,
        ..Roles::default()
    };
    let organiser = Roles {
        is_organiser: true,
        ..Roles::default()
    };
    let quinn = club.quartermaster().await.id();
    let ended = club.token(quinn, true).await;
    let hash = sandbucket::ids::digest(&ended);
    let sql = format!("UPDATE token SET ends_ms = 1 WHERE token_hash = '{hash}'");
    club.behind_the_back(&sql).await.expect("ended");
    let gone = club.person("Dora", EVERY_ROLE).await.id();
    let of_gone = club.token(gone, true).await;
    let sql = "UPDATE person SET deactivated_ms = 1 WHERE name = 'Dora'";
    club.behind_the_back(sql)
        .await
        .expect("deactivated, the token left");
    let cookie = club
        .all_roles()
        .await
        .cookie("sandbucket")
        .expect("a session");
    let looks = club.token(quinn, false).await;
    let one = |name, roles, may_change, program| Cast {
        name,
        roles,
        may_change,
        program,
    };
    let of = async |id| club.program(id).await;
    vec![
        one("nobody", None, true, Program::new(club, None)),
        one(
            "a guessed token",
            None,
            true,
            Program::new(club, Some(&"a".repeat(64))),
        ),
        one(
            "a cookie alone",
            None,
            true,
            Program::new(club, None).with_cookie(&cookie),
        ),
        one(
            "an ended token",
            None,
            true,
            Program::new(club, Some(&ended)),
        ),
        one(
            "somebody deactivated",
            None,
            true,
            Program::new(club, Some(&of_gone)),
        ),
        one(
            "a guest",
            Some(Roles::default()),
            true,
            of(club.person("Gil", Roles::default()).await.id()).await,
        ),
        one("the owner", Some(member), true, of(scene.owner_id()).await),
        one(
            "another member",
            Some(member),
            true,
            of(club.member("Otto").await.id()).await,
        ),
        one(
            "an organiser",
            Some(organiser),
            true,
            of(club.organiser().await.id()).await,
        ),
        one(
            "a token that looks",
            Some(quartermaster),
            false,
            Program::new(club, Some(&looks)),
        ),
        one(
            "a quartermaster",
            Some(quartermaster),
            true,
            of(quinn).await,
        ),
    ]
}

fn who_may(path: &str, method: &str) -> Who {
    let all = table::table();
    let found = all
        .iter()
        .find(|each| format!("{BASE}{}", each.path) == path && each.method.as_str() == method);
    found.expect("an operation").who
}

/// What is there for its owner, or whoever runs the pool, alone.
const OWN: [&str; 3] = [
    "/api/v1/loans/{id}",
    "/api/v1/mine/{lent}/bring-back",
    "/api/v1/mine/{lent}/brought-back",
];

/// Not even those who run the pool see it.
fn is_theirs_alone(path: &str) -> bool {
    path.starts_with("/api/v1/mine/")
}

/// Open to them as the page is, and not theirs today: the club lets nobody borrow alone and has quartermasters who release, and a
/// charge is handed by them alone to somebody else.
const NOT_THEIRS_TODAY: [(&str, &str); 4] = [
    ("/api/v1/charges/{id}/hand-over", "the owner"),
    ("/api/v1/hand-out", "the owner"),
    ("/api/v1/hand-out", "another member"),
    ("/api/v1/packs/{number}/release", "an organiser"),
];
/// Of what somebody else added a quartermaster may.
const ANOTHERS: &str = "/api/v1/packs/{number}/photos/{photo}/remove";

on_both! {
    async fn each_program_may_what_its_person_may_and_nothing_else(club: TestClub) {
        let scene = Scene::set(&club).await;
        let cast = cast(&club, &scene).await;
        let mut wrong = Vec::new();
        for (path, method, told) in operations(&document::document()) {
            let who = who_may(&path, &method);
            let asked = asked(&scene, &path, &method, &told).await;
            // That a token was used is noted once in a while, of one that is refused too.
            let seen = async || {
                let mut seen = club.contents().await;
                seen.remove("token");
                seen
            };
            let mut before = seen().await;
            for one in &cast {
                let reply = one.program.ask(&asked).await;
                let after = seen().await;
                let unchanged = after == before;
                before = after;
                let is_known = one.roles.is_some();
                let is_allowed = may_use(who, one.roles) && (one.may_change || method == "GET" || computes(&path));
                let is_own = OWN.contains(&path.as_str());
                let is_anothers = path == ANOTHERS && !may_use(Who::Holds(&[Role::Quartermaster]), one.roles);
                let wanted: &[u16] = match (is_known, is_allowed) {
                    (false, _) => &[401],
                    (true, false) => &[403],
                    (true, true) if is_own && one.name == "another member" => &[404],
                    (true, true) if is_theirs_alone(&path) && one.name != "the owner" => &[404],
                    (true, true) if method == "GET" => &[200],
                    (true, true) if is_anothers => &[403],
                    (true, true) if NOT_THEIRS_TODAY.contains(&(&path, one.name)) => &[403],
                    // Somebody before may have done it, or a rule stands against them.
                    (true, true) => &[200, 404, 409, 422],
                };
                let must_stay = wanted != [200, 404, 409, 422];
                if !wanted.contains(&reply.status) || must_stay && !unchanged {
                    wrong.push(format!("{method} {path} by {}: {}, unchanged {unchanged}: {}", one.name, reply.status, reply.text));
                }
                let names_owner = reply.text.contains("Olwen");
                if one.name == "another member" && names_owner {
                    wrong.push(format!("{method} {path} tells a member who has it"));
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
