//! What comes of a sheet whose rows are on record already: asked about, then left or changed, and only where it says
//! something else.

use super::tests::{BOX, MILL, SETTING, choices, known, mill, planned};
use super::*;
use crate::club::sheet::Existing;
use crate::club::sheet::known::KnownKit;
use crate::club::sheet::text::grid;

#[test]
fn what_the_sheet_says_as_it_is_on_record_changes_nothing() {
    let same = planned(
        "Number,Maker,Acquired,Place,Notes\n7,Millrace,1.3.2026,BOX B,old wrap",
        Holds::Packs,
        Some(Existing::Change),
    );
    assert_eq!((same.changes(), same.left()), (0, 1));
    assert!(same.is_empty());
    let moved = planned("Number,Place\n7,", Holds::Packs, Some(Existing::Change));
    assert!(moved.pack_changes[0].is_moved);
    assert_eq!((moved.changes(), moved.left()), (1, 0));
    let design = planned(
        "Name,Cells,Weight\nmill 3s 2200,3,",
        Holds::Designs,
        Some(Existing::Change),
    );
    assert_eq!((design.changes(), design.left()), (0, 1));
    assert!(design.troubles.is_empty());
    let kit = "Kind,Number,From,To,Rated (A),Owned\nadapter,A-1,XT60,XT30,15,8";
    let about = known_with(&planned(kit, Holds::Kit, None));
    let kit_choices = Choices {
        existing: Some(Existing::Change),
        ..choices(kit, Holds::Kit)
    };
    let again = |text: &str| {
        plan(
            &grid(text).expect("a sheet"),
            Holds::Kit,
            &kit_choices,
            (&about, SETTING),
        )
    };
    assert_eq!((again(kit).changes(), again(kit).left()), (0, 1));
    let stronger = again(&kit.replace(",15,8", ",12,80"));
    assert_eq!(stronger.changes(), 1);
    assert_eq!(stronger.kit_changes[0].number, "A-01");
    assert_eq!(
        stronger.kit_changes[0].sheet.owned_count, 8,
        "a count is counted"
    );
}

/// What is on record once this plan of kit was carried out.
fn known_with(plan: &Plan) -> Known {
    let kit = plan.kit.iter().map(|new| {
        let kind = new.sheet.spec.kind();
        let thing = KnownKit {
            id: Uuid::from_u128(9),
            number: kind.number(new.number_key),
            sheet: new.sheet.clone(),
        };
        ((kind, new.number_key), thing)
    });
    Known {
        kit: kit.collect(),
        ..known()
    }
}

#[test]
fn rows_of_what_is_left_as_it_is_are_not_read_further() {
    let text = "Name,Cells\nMill 3S 2200,ninety";
    let left = planned(text, Holds::Designs, Some(Existing::Leave));
    assert_eq!((left.troubles.count, left.left()), (0, 1));
    let changed = planned(text, Holds::Designs, Some(Existing::Change));
    assert_eq!(changed.troubles.count, 1);
}

#[test]
fn of_several_designs_of_one_name_the_one_that_fits_is_changed() {
    let long = DesignSheet {
        capacity_mah: 5000,
        ..mill()
    };
    let about = Known {
        designs: vec![(MILL, mill()), (Uuid::from_u128(4), long)],
        ..known()
    };
    let changed = |text: &str| {
        let choices = Choices {
            existing: Some(Existing::Change),
            ..choices(text, Holds::Designs)
        };
        plan(
            &grid(text).expect("a sheet"),
            Holds::Designs,
            &choices,
            (&about, SETTING),
        )
    };
    let one = changed("Name,Capacity,Weight\nMill 3S 2200,5000,410");
    assert_eq!(one.design_changes.len(), 1, "{:?}", one.troubles);
    assert_eq!(one.design_changes[0].0, Uuid::from_u128(4));
    assert_eq!(one.design_changes[0].1.mass_g, Some(410));
    let either = changed("Name,Weight\nMill 3S 2200,410");
    assert_eq!(either.changes(), 0);
    assert!(
        either.troubles.shown[0]
            .words
            .starts_with("Several designs are called that")
    );
    let neither = changed("Name,Capacity\nMill 3S 2200,900");
    assert!(
        neither.troubles.shown[0]
            .words
            .starts_with("A sheet changes a design's mass and size")
    );
}

#[test]
fn numbers_on_record_are_asked_about_and_then_left_or_changed_in_their_details_alone() {
    let text = "Number,Design,Notes\n7,,new wrap\n8,Mill 3S 2200,";
    let unsaid = planned(text, Holds::Packs, None);
    assert_eq!(unsaid.existing, ["P-007"]);
    let left = planned(text, Holds::Packs, Some(Existing::Leave));
    assert_eq!((left.packs.len(), left.changes()), (1, 0));
    let changed = planned(text, Holds::Packs, Some(Existing::Change));
    let before = known().packs[&7].details.clone();
    assert_eq!(
        changed.pack_changes[0].details,
        Details {
            notes: "new wrap".to_owned(),
            ..before
        }
    );
    assert!(!changed.pack_changes[0].is_moved);
    let other = "Number,Chemistry,Cells,Capacity,Connector,Balance\n7,LiPo,4S,1500,XT60,JST-XH";
    let other = planned(other, Holds::Packs, Some(Existing::Change));
    assert!(
        other.troubles.shown[0]
            .words
            .starts_with("This pack is registered of another design")
    );
    assert_eq!((other.changes(), other.designs.len()), (0, 0));
}

#[test]
fn places_that_differ_in_capitals_alone_are_told_apart_by_them() {
    let about = Known {
        places: vec![(BOX, "Box B".to_owned()), (MILL, "BOX B".to_owned())],
        ..known()
    };
    let place_of = |name: &str| {
        let text = format!("Design,Place\nMill 3S 2200,{name}");
        let plan = plan(
            &grid(&text).expect("a sheet"),
            Holds::Packs,
            &choices(&text, Holds::Packs),
            (&about, SETTING),
        );
        let first = plan.packs.first().map(|pack| pack.details.place_id);
        first.ok_or_else(|| plan.troubles.shown[0].words.clone())
    };
    assert_eq!(place_of("Box B"), Ok(Some(BOX)));
    assert_eq!(place_of("BOX B"), Ok(Some(MILL)));
    let told = place_of("box b").expect_err("either");
    assert!(told.starts_with("Several places are called “box b”, but for capitals."));
}
