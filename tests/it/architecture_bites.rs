//! The architecture test is itself tested: each of its checks is shown a bad snippet and must name file and line,
//! and a sound snippet beside it and must keep quiet.

use crate::architecture::findings;

/// The findings on a snippet that opens as a module should; its own lines start at 2.
fn on(address: &str, snippet: &str) -> String {
    findings(address, &format!("//! A snippet.\n{snippet}")).join("\n")
}

#[test]
fn an_arrow_that_points_up_is_found() {
    assert_eq!(
        on("bench/plan.rs", "use crate::club::people;"),
        "src/bench/plan.rs:2: bench may not use club"
    );
    assert_eq!(
        on("battery/cell.rs", "\nuse crate::bench;"),
        "src/battery/cell.rs:3: battery may not use bench"
    );
    assert!(
        on("actions/lend.rs", "use crate::{store::Db, web::Page};")
            .contains("actions may not use web")
    );
    assert!(
        on("store/packs.rs", "fn f() { crate::actions::lend() }")
            .contains("store may not use actions")
    );
    assert_eq!(
        on(
            "web/packs.rs",
            "use crate::{actions::lend, store::{packs, Db}};"
        ),
        ""
    );
}

#[test]
fn a_stranger_in_a_room_is_found() {
    assert!(on("club/loans.rs", "use sqlx::Row;").contains("club does not know sqlx"));
    assert!(
        on("battery/cell.rs", "fn f() { std::fs::read(p) }")
            .contains("battery does not know std::fs")
    );
    assert!(on("store/packs.rs", "use axum::Json;").contains("store does not know axum"));
    assert!(
        on("web/packs.rs", "let rows = query(\"SELECT 1\");").contains("web does not know query(")
    );
    assert!(on("actions/lend.rs", "use sqlx::Row;").contains("actions does not know sqlx::"));
    assert!(
        on("store/packs.rs", "use sqlx::PgPool;")
            .contains("PgPool: only store/mod.rs and store/open.rs name a database")
    );
    assert!(on("store/packs.rs", "struct A(SqlitePool);").contains("only store/mod.rs"));
    assert_eq!(on("store/mod.rs", "use sqlx::{PgPool, SqlitePool};"), "");
}

#[test]
fn what_may_stop_the_program_is_found_outside_tests_only() {
    assert_eq!(
        on("club/loans.rs", "fn f() {\n    x.unwrap();\n}"),
        "src/club/loans.rs:3: .unwrap() outside tests: answer with an error instead"
    );
    for bad in ["x.expect(\"a pack\")", "panic!(\"no\")", "todo!()"] {
        assert!(
            on("web/packs.rs", &format!("fn f() {{ {bad} }}")).contains("outside tests"),
            "{bad}"
        );
    }
    let tested = "fn f() -> i64 { 1 }\n#[cfg(test)]\nmod tests {\n    #[test]\n    fn g() { x.unwrap(); panic!(\"}\") }\n}\nfn h() { y.unwrap_or(0) }";
    assert_eq!(on("club/loans.rs", tested), "");
    assert!(
        on(
            "club/loans.rs",
            &format!("{tested}\nfn i() {{ z.unwrap() }}")
        )
        .contains(":9:")
    );
}

#[test]
fn words_in_texts_and_comments_do_not_count() {
    let snippet = "// sqlx and panic! are only spoken of\nconst A: &str = \"use sqlx::Row; \\\" .unwrap()\";\nconst B: &str = r#\"tokio \" axum\"#;\nconst C: char = '\"';\nfn f<'a>(x: &'a str) -> &'a str { x }";
    assert_eq!(on("battery/cell.rs", snippet), "");
    assert!(
        on("battery/cell.rs", &format!("{snippet}\nuse tokio::fs;"))
            .contains(":7: battery does not know tokio")
    );
}

#[test]
fn names_that_say_nothing_are_found() {
    assert!(on("club/loans.rs", "pub struct LoanManager;").contains("LoanManager says nothing"));
    assert!(on("club/loans.rs", "mod utils {}").contains("utils says nothing"));
    assert!(on("web/form_helpers.rs", "").contains("form_helpers says nothing"));
    assert_eq!(on("club/loans.rs", "enum Serviceable { Yes }"), "");
}

#[test]
fn what_is_too_large_or_unexplained_is_found() {
    let long = |lines: usize| format!("fn long() {{\n{}}}", "    step();\n".repeat(lines - 2));
    assert_eq!(on("club/loans.rs", &long(70)), "");
    assert!(on("club/loans.rs", &long(71)).contains(":2: long has 71 lines"));
    assert_eq!(on("club/loans.rs", &"\n".repeat(399)), "");
    assert!(on("club/loans.rs", &"\n".repeat(400)).contains("401 lines"));
    let handler = "async fn six<T: Fn(i64) -> i64>(a: A, b: Form<HashMap<K, V>>, (c, d): (C, D), e: E, f: F, g: G,) {}";
    assert!(on("web/packs.rs", handler).contains("six takes 6"));
    assert_eq!(on("web/packs.rs", &handler.replace(", g: G", "")), "");
    assert_eq!(on("web/packs.rs", &handler.replace("async ", "")), "");
    assert!(
        findings("club/loans.rs", "use std::fmt;\n")
            .join("")
            .contains("opens with //!")
    );
}
