//! What comes of small sheets, put beside what the Millrace club has.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::connector::built_in;
use crate::club::sheet::Existing;
use crate::club::sheet::known::KnownPack;
use crate::club::sheet::text::grid;

pub(super) const SETTING: Setting = Setting {
    numbers: Words::POINT,
    pack_prefix: "P",
    today: Day(jiff::civil::date(2026, 11, 25)),
};
pub(super) const MILL: Uuid = Uuid::from_u128(1);
pub(super) const BOX: Uuid = Uuid::from_u128(2);

pub(super) fn mill() -> DesignSheet {
    DesignSheet {
        name: "Mill 3S 2200".to_owned(),
        chemistry: Chemistry::LiPo,
        cells_series: 3,
        groups_parallel: 1,
        capacity_mah: 2200,
        label_discharge_c_tenths: Some(300),
        label_charge_c_tenths: None,
        connector: "xt60".to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        mass_g: None,
        size_mm: String::new(),
        label: LabelVolts::default(),
    }
}

pub(super) fn known() -> Known {
    let pack = KnownPack {
        id: Uuid::from_u128(3),
        number: "P-007".to_owned(),
        design_id: MILL,
        details: Details {
            maker: "Millrace".to_owned(),
            batch: String::new(),
            supplier: String::new(),
            price: String::new(),
            acquired_on: Some("2026-03-01".to_owned()),
            first_used_on: None,
            place_id: Some(BOX),
            notes: "old wrap".to_owned(),
        },
    };
    Known {
        designs: vec![(MILL, mill())],
        families: built_in(),
        places: vec![(BOX, "Box B".to_owned())],
        packs: [(7, pack)].into(),
        ..Known::default()
    }
}

pub(super) fn choices(text: &str, holds: Holds) -> Choices {
    let headings = grid(text).expect("a sheet").headings;
    let guessed = columns::guessed(&columns::of(holds, None), &headings);
    let columns = guessed
        .into_iter()
        .map(|(code, at)| (code.to_owned(), at))
        .collect();
    Choices {
        columns,
        ..Choices::default()
    }
}

pub(super) fn planned(text: &str, holds: Holds, existing: Option<Existing>) -> Plan {
    let choices = Choices {
        existing,
        ..choices(text, holds)
    };
    plan(
        &grid(text).expect("a sheet"),
        holds,
        &choices,
        (&known(), SETTING),
    )
}

fn wrong(text: &str, holds: Holds) -> Vec<String> {
    let troubles = planned(text, holds, None).troubles;
    troubles.shown.iter().map(ToString::to_string).collect()
}

#[test]
fn packs_name_their_design_and_get_the_next_free_numbers() {
    let plan = planned(
        "Number;Design;Place;Bought\n;Mill 3S 2200;box b;24.11.2026\n12;mill 3s 2200;;\n;Mill 3S 2200;;",
        Holds::Packs,
        None,
    );
    assert_eq!(plan.troubles, Troubles::default());
    let keys: Vec<i64> = plan.packs.iter().map(|pack| pack.number_key).collect();
    assert_eq!(keys, [13, 12, 14]);
    assert_eq!(plan.packs[0].design, DesignOf::Known(MILL));
    assert_eq!(plan.packs[0].details.place_id, Some(BOX));
    assert_eq!(
        plan.packs[0].details.acquired_on.as_deref(),
        Some("2026-11-24")
    );
}

#[test]
fn packs_describe_a_design_that_is_on_record_or_is_made_once() {
    let text = "Chemistry,Cells,Capacity (Ah),Connector,Balance,Discharge rate\n\
        LiPo,3S,2.2,XT60,JST-XH,30C\nLiPo,4S,1.5,XT60,JST-XH,75C\nlipo,4,1500mAh,xt60,jst-xh,75";
    let plan = planned(text, Holds::Packs, None);
    assert_eq!(plan.troubles, Troubles::default());
    let designs: Vec<DesignOf> = plan.packs.iter().map(|pack| pack.design).collect();
    assert_eq!(
        designs,
        [DesignOf::Known(MILL), DesignOf::New(0), DesignOf::New(0)]
    );
    assert_eq!(plan.designs.len(), 1);
    assert_eq!(
        (plan.designs[0].capacity_mah, plan.designs[0].name.as_str()),
        (1500, "LiPo 4S 1500 mAh XT60")
    );
}

#[test]
fn a_figure_beside_a_design_is_never_passed_over() {
    let named = "Design,Mass (g),Size (mm)\nMill 3S 2200,1500,\n";
    let told = wrong(named, Holds::Packs);
    assert!(
        told[0].contains("“Mill 3S 2200” on record has other figures: Mass (g)."),
        "{told:?}"
    );
    let described = "Chemistry,Cells,mAh,Discharge rate,Connector,Balance,Mass\nLiPo,3,2200,30C,XT60,JST-XH,1500\n";
    assert!(wrong(described, Holds::Packs)[0].contains("has other figures: Mass (g)"));
    let twice = "Design,Chemistry,Cells,mAh,Connector,Balance,Mass\nNew,LiPo,2,450,XT30,JST-XH,30\nNew,LiPo,2,450,XT30,JST-XH,31\n";
    let told = wrong(twice, Holds::Packs);
    assert!(
        told[0].starts_with("Line 3")
            && told[0].contains("in a row above has other figures: Mass (g)"),
        "{told:?}"
    );
    let same = planned(
        "Design,Cells,mAh\nMill 3S 2200,3,2200\n",
        Holds::Packs,
        None,
    );
    assert_eq!((same.packs.len(), same.troubles.count), (1, 0));
}

#[test]
fn every_bad_cell_is_told_by_line_and_column() {
    let told = wrong(
        "Number,Design,Place,Bought\nP-7x,Mill 3S 2200,,\n1,Other,Nowhere,2027-01-01\n2,,,\n2,Mill 3S 2200,,soon",
        Holds::Packs,
    );
    let expected = [
        "Line 2, column “Number”: A pack's number is a number",
        "Line 3, column “Place”: There is no place called “Nowhere”.",
        "Line 3, column “Design”: There is no design called “Other”.",
        "Line 3, column “Bought”: That day has not come yet.",
        "Line 4, column “Design”: Name the design, or describe it",
        "Line 5, column “Bought”: Write the day",
        "Line 5, column “Number”: Line 4 has this number too.",
    ];
    assert_eq!(told.len(), expected.len(), "{told:#?}");
    for (told, expected) in told.iter().zip(expected) {
        assert!(told.starts_with(expected), "{told} instead of {expected}");
    }
    let figures =
        "Name,Chemistry,Cells,Capacity,Connector,Balance\nNew one,LiPo,99,450,XT60,JST-XH\n";
    let told = wrong(figures, Holds::Designs);
    assert_eq!(
        told,
        ["Line 2, column “Cells”: Give the cells in series, 1 to 14."]
    );
    let told = wrong(
        &figures.replace("99", "3").replace("450", "0"),
        Holds::Packs,
    );
    assert_eq!(
        told,
        ["Line 2, column “Capacity”: Give the capacity between 10 mAh and 200 Ah."]
    );
    let told = wrong("Name,Cells\nNew one,99", Holds::Designs);
    assert!(
        told.iter()
            .any(|words| words.starts_with("Line 2, Chemistry (no column): Choose the chemistry")),
        "{told:?}"
    );
}

#[test]
fn a_design_on_record_keeps_its_nature_whatever_a_sheet_says() {
    let text = "Name,Weight,Cells\nMILL 3S 2200,181,3";
    let changed = planned(text, Holds::Designs, Some(Existing::Change));
    assert_eq!(changed.design_changes[0].1.mass_g, Some(181));
    assert_eq!(changed.design_changes[0].1.capacity_mah, 2200);
    assert_eq!(changed.design_changes[0].1.name, "Mill 3S 2200");
    let other = planned(
        "Name,Cells\nMill 3S 2200,4",
        Holds::Designs,
        Some(Existing::Change),
    );
    assert_eq!((other.changes(), other.troubles.count), (0, 1));
}

#[test]
fn kit_of_several_kinds_stands_in_one_sheet_and_each_kind_has_its_own_numbers() {
    let text = "Kind,Number,From,To,Rated (A),Carries (W),Owned,Name\n\
        adapter,,XT60,XT30,15,,8,\ncable,K-05,USB-C,USB-C,,60,,long\ncable,,USB-C,USB-C,,60,,\nboat,,,,,,,\nadapter,,XT60,XT30,15,,,";
    let plan = planned(text, Holds::Kit, None);
    let numbers: Vec<(KitKind, i64)> = plan
        .kit
        .iter()
        .map(|kit| (kit.sheet.spec.kind(), kit.number_key))
        .collect();
    assert_eq!(
        numbers,
        [
            (KitKind::Adapter, 1),
            (KitKind::Cable, 5),
            (KitKind::Cable, 6)
        ]
    );
    assert_eq!(plan.kit[0].sheet.owned_count, 8);
    let told: Vec<(usize, &str)> = plan
        .troubles
        .shown
        .iter()
        .map(|trouble| (trouble.line, trouble.column.as_str()))
        .collect();
    assert_eq!(told, [(5, "column “Kind”"), (6, "column “Owned”")]);
}

#[test]
fn numbers_under_another_unit_are_refused_and_never_read_as_ours() {
    let told = |capacity: &str, cell: &str| {
        let text = format!(
            "Name,Chemistry,Cells,{capacity},Connector,Balance\nNew one,LiPo,3,{cell},XT60,JST-XH"
        );
        let at = grid(&text)
            .expect("a sheet")
            .headings
            .iter()
            .position(|heading| heading == capacity);
        let mut choices = choices(&text, Holds::Designs);
        choices
            .columns
            .insert("capacity".to_owned(), at.expect("the column"));
        let read = plan(
            &grid(&text).expect("a sheet"),
            Holds::Designs,
            &choices,
            (&known(), SETTING),
        );
        let words = read
            .troubles
            .shown
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>();
        (
            read.designs.first().map(|design| design.capacity_mah),
            words,
        )
    };
    assert_eq!(told("Ah", "22"), (Some(22_000), vec![]));
    assert_eq!(told("Capacity Ah", "2.2"), (Some(2_200), vec![]));
    assert_eq!(
        told("Wh", "450 mAh"),
        (Some(450), vec![]),
        "a cell's own unit goes first"
    );
    for heading in ["Capacity (Wh)", "Wh", "Capacity (A)", "capacity_wh"] {
        let words = format!("Line 2, column “{heading}”: That unit does not belong in this field.");
        assert_eq!(told(heading, "48"), (None, vec![words]));
    }
    let heavy = planned(
        "Name,Weight (kg)\nMill 3S 2200,2",
        Holds::Designs,
        Some(Existing::Change),
    );
    assert_eq!(heavy.changes(), 0);
    assert_eq!(
        heavy.troubles.shown[0].to_string(),
        "Line 2, column “Weight (kg)”: Give the mass in grams."
    );
    let strong = planned(
        "Kind,From,To,Carries (kW)\ncable,USB-C,USB-C,1",
        Holds::Kit,
        None,
    );
    assert!(strong.kit.is_empty());
    assert_eq!(
        strong.troubles.shown[0].to_string(),
        "Line 2, column “Carries (kW)”: Carries: that unit does not belong in this field."
    );
}

#[test]
fn a_quantity_of_what_has_numbers_of_its_own_is_refused() {
    let text = "Kind,Quantity,From,To,Carries (W),Rated (A)\ncable,3,USB-C,USB-C,60,\ncable,1,USB-C,USB-C,60,\nadapter,3,XT60,XT30,,15";
    assert_eq!(
        wrong(text, Holds::Kit),
        ["Line 2, column “Quantity”: Only adapters are counted; write a row for each."]
    );
    let of_one = Choices {
        kind: Some("cable".to_owned()),
        columns: columns::guessed(
            &columns::of(Holds::Kit, Some(KitKind::Cable)),
            &grid(text).expect("a sheet").headings,
        )
        .into_iter()
        .map(|(code, at)| (code.to_owned(), at))
        .collect(),
        ..Choices::default()
    };
    let cables = plan(
        &grid(text).expect("a sheet"),
        Holds::Kit,
        &of_one,
        (&known(), SETTING),
    );
    assert!(
        cables.troubles.shown[0]
            .words
            .starts_with("Only adapters are counted")
    );
}

#[test]
fn what_could_mean_two_things_is_asked_about_only_in_columns_that_are_used() {
    let text = "Number;Capacity;Bought;Colour\n1;1.234;03/04/2026;5,678";
    let found = doubts(
        &grid(text).expect("a sheet"),
        Holds::Packs,
        &choices(text, Holds::Packs),
    );
    assert_eq!(
        found.days.map(|doubt| doubt.text).as_deref(),
        Some("03/04/2026")
    );
    assert_eq!(
        found.point.map(|doubt| (doubt.line, doubt.text)),
        Some((2, "1.234".to_owned()))
    );
    assert_eq!(found.comma, None);
}

#[test]
fn twenty_thousand_packs_that_are_each_of_another_design_are_read_in_seconds() {
    let row = |at: usize| {
        let (capacity, rate) = (500 + at / 50, at % 50 + 1);
        format!(",LiPo,3S,{capacity} mAh,XT60,JST-XH,{rate}C\n")
    };
    let rows: String = (0..super::super::MOST_ROWS).map(row).collect();
    let head = "Number,Chemistry,Cells,Capacity,Connector,Balance,Discharge rate\n";
    let began = std::time::Instant::now();
    let plan = planned(&format!("{head}{rows}"), Holds::Packs, None);
    assert_eq!((plan.packs.len(), plan.designs.len()), (20_000, 20_000));
    let names: std::collections::HashSet<&str> = plan
        .designs
        .iter()
        .map(|sheet| sheet.name.as_str())
        .collect();
    assert_eq!(names.len(), 20_000, "each has a name of its own");
    assert!(began.elapsed().as_secs() < 30, "{:?}", began.elapsed());
}
