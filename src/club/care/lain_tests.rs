//! Days above the band, counted as they pass.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::{Toward, What};

fn told(story: &Story) -> Vec<(i64, f64)> {
    let lain = lain(Kept::default(), &lying(Chemistry::LiPo), story, now());
    lain.iter().map(|one| (one.percent, one.days)).collect()
}

#[test]
fn a_full_pack_lies_full_until_a_charger_stored_it() {
    // 4.18 V is 99 %: the Linux kernel's phone cells.
    assert_eq!(told(&read(9, 4_180)), [(99, 9.0)]);
    let stored = read(9, 4_180).then(2, done(Toward::Storage));
    assert_eq!(told(&stored), [(99, 7.0)]);
    assert_eq!(told(&read(9, 3_820)), []);
    let charged = read(9, 3_820).then(4, done(Toward::Full));
    assert_eq!(told(&charged), [(99, 4.0)]);
}

#[test]
fn days_on_which_it_was_out_are_counted_for_none() {
    let out = read(9, 4_180).then(6, What::Lent).then(2, What::CameBack);
    assert_eq!(told(&out), [(99, 3.0)]);
    let charged_again = out.then(1, done(Toward::Full));
    assert_eq!(told(&charged_again), [(99, 3.0), (99, 1.0)]);
}

#[test]
fn nickel_and_lead_lie_full_at_no_cost() {
    for chemistry in [Chemistry::NiMh, Chemistry::Pb] {
        let all = lain(Kept::default(), &lying(chemistry), &read(9, 1_450), now());
        assert_eq!(all, []);
    }
}
