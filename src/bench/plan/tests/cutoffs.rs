//! Where a charge is cut off by mAh: never before what is reckoned with has gone in, never above what a label takes.

use super::random::sampled;
use super::*;

fn brick() -> AtHand {
    let sheet = Charger {
        current_min_ma: 10,
        current_step_ma: 10,
        ..usb_charger()
    };
    hand(vec![charger(1, sheet)], vec![usb_supply(1, 100_000)])
}

/// A cell of 80 mAh at 4.05 V is expected to take up to some 15 mAh. Rounding small packs to single mAh: common practice, no
/// source. 105 % of the label: a maker's put-back limit (section 0 of the trade's facts).
#[test]
fn a_small_pack_is_not_cut_off_before_what_it_is_expected_to_take() {
    for mah in [30, 80, 150, 300, 450, 499] {
        for cell_mv in (3_500..4_170).step_by(50) {
            let plan = only(
                &asked(pack(Chemistry::LiPo, 1, mah, cell_mv), EVENING),
                &brick(),
            );
            let most = mah * 105 / 100;
            assert!(
                plan.cutoff_mah >= plan.course.most_mah.min(most) && plan.cutoff_mah <= most,
                "{mah} mAh at {cell_mv} mV: {plan:?}"
            );
        }
    }
    let small = asked(pack(Chemistry::LiPo, 1, 80, 4_050), EVENING);
    let plan = only(&small, &brick());
    assert!((15..=25).contains(&plan.cutoff_mah), "{plan:?}");
    let told = Told::of(&plan, &small.pack.build, &brick(), Words::POINT);
    let course = &plan.course;
    assert_eq!(
        told.moves,
        format!("puts in {} to {} mAh", course.least_mah, course.most_mah)
    );
}

/// As above, whatever the kit and the chemistry.
#[test]
fn no_cut_off_is_under_what_is_expected_but_by_the_label() {
    for (asked, hand) in sampled(1_500) {
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            continue;
        };
        let build = &asked.pack.build;
        for plan in plans {
            let bound = if build.chemistry.is_lithium() {
                build.capacity_mah * 105 / 100
            } else {
                i64::MAX
            };
            let least = plan.course.most_mah.min(bound);
            // Rounded down where the label itself is the bound.
            let is_bound = plan.course.most_mah > bound;
            let short = if is_bound { 9 } else { 0 };
            assert!(
                plan.cutoff_mah >= least - short && plan.cutoff_mah <= bound,
                "{asked:?} {plan:?}"
            );
        }
    }
}

/// One current goes through all cells, and those ahead are bled meanwhile (section 7 of the trade's facts, on balance): what the
/// lowest of these needs, read by its own volts, is 1.45 to 1.94 Ah. 105 % of the label stays above all.
#[test]
fn a_balanced_charge_is_cut_off_by_what_its_lowest_cell_takes() {
    let mut apart = asked(pack(Chemistry::LiPo, 4, 2_200, 3_820), EVENING);
    apart.pack.volts = Volts::Cells(vec![3_720, 3_820, 3_820, 3_820]);
    let plan = only(&apart, &brick());
    assert!(plan.is_balanced);
    assert!(plan.course.most_mah >= 1_942, "{plan:?}");
    assert!((1_942..=2_310).contains(&plan.cutoff_mah), "{plan:?}");
}
