//! What the demo club owns: places, designs and packs, kit, who was shown safe charging and handling. All of it invented.

use super::{DAYS, Teller, slip};
use crate::actions::arrange_places::add_place;
use crate::actions::keep_connectors::add_connector;
use crate::actions::keep_kit::add_kit;
use crate::actions::labels::put_on_sheet;
use crate::actions::newcomers::{add_guest, note_induction};
use crate::actions::register::{register_packs, save_design};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::chain::{Adapter, Board, Cable};
use crate::bench::charger::{Charger, Input, Memory, Mode};
use crate::bench::connector::{Family, Purpose};
use crate::bench::kit::Spec;
use crate::bench::supply::{Port, Supply, source_levels};
use crate::club::induction::Shown;
use crate::club::kit::KitSheet;
use crate::club::places::{PlaceKind, PlaceSheet};
use crate::club::register::DesignSheet;
use crate::store::packs::Details;
use crate::store::{StoreError, places};
use uuid::Uuid;

/// name, chemistry, cells, capacity in mAh, label C (discharge, charge), plug, mass in g; how many, their batch.
type Row = (
    &'static str,
    Chemistry,
    i64,
    i64,
    (i64, i64),
    &'static str,
    i64,
    i64,
    &'static str,
);

#[rustfmt::skip]
const PACKS: [Row; 9] = [
    ("Ant 2S 300", Chemistry::LiPo, 2, 300, (35, 1), "jst-rcy", 19, 3, "A-0326"),
    ("Ant 2S 300", Chemistry::LiPo, 2, 300, (35, 1), "jst-rcy", 19, 3, "A-0826"),
    ("Beetle 3S 450", Chemistry::LiPo, 3, 450, (75, 2), "xt30", 45, 3, "B-0426"),
    ("Beetle 3S 450", Chemistry::LiPo, 3, 450, (75, 2), "xt30", 45, 3, "B-0626"),
    ("Hopper 4S 850", Chemistry::LiHv, 4, 850, (60, 3), "xt30", 98, 3, "H-0526"),
    ("Feather 6S 1300", Chemistry::LiPo, 6, 1300, (100, 3), "xt60", 215, 2, "F-0226"),
    ("Handset 2S 1500", Chemistry::LiFePo4, 2, 1500, (5, 1), "jst-rcy", 88, 1, ""),
    ("Bench 3S 5000", Chemistry::LiIon, 3, 5000, (10, 1), "xt60", 290, 1, ""),
    ("Beetle 3S 450", Chemistry::LiPo, 3, 450, (75, 2), "xt30", 45, 1, "B-0926"),
];

/// The packs bought last have no labels yet.
const LABELLED: i64 = 17;

pub(super) async fn arrange(teller: &Teller<'_>, base: &str) -> Result<(), StoreError> {
    let cabinet = places(teller).await?;
    connector(teller).await?;
    packs(teller, cabinet).await?;
    labels(teller, base).await?;
    kit(teller, cabinet).await?;
    inductions(teller).await
}

async fn labels(teller: &Teller<'_>, base: &str) -> Result<(), StoreError> {
    let by = teller.quinn(teller.on(DAYS - 1, "18:40"));
    let keys: Vec<i64> = (1..=LABELLED).collect();
    put_on_sheet(teller.db, &by, &keys, (base, ""))
        .await
        .map_err(slip)
}

/// The cabinet's id.
async fn places(teller: &Teller<'_>) -> Result<Uuid, StoreError> {
    let by = teller.quinn(teller.on(DAYS - 1, "18:00"));
    let all = [
        (
            "Battery cabinet",
            PlaceKind::Cabinet,
            "Workshop",
            Some(500_000),
        ),
        ("Charging table", PlaceKind::Table, "Hall", None),
        ("Steel box", PlaceKind::Box, "Workshop", Some(150_000)),
    ];
    for (name, kind, room, energy_limit_mwh) in all {
        let sheet = PlaceSheet {
            name: name.to_owned(),
            kind,
            room: room.to_owned(),
            energy_limit_mwh,
            warmth_celsius: (room == "Hall").then_some(19),
            extinguisher_check_due: (kind == PlaceKind::Cabinet)
                .then(|| teller.zone.day_of(teller.now).plus_days(40)),
            detector_check_due: None,
            notes: String::new(),
        };
        add_place(teller.db, &by, sheet).await.map_err(slip)?;
    }
    let mut conn = teller.db.read().await?;
    let cabinets = places::by_kind(&mut conn, PlaceKind::Cabinet).await?;
    let cabinet = cabinets.first().ok_or_else(|| slip("no cabinet"))?;
    Ok(cabinet.id)
}

/// One of the club's own: the socket in the wall of its hall.
async fn connector(teller: &Teller<'_>) -> Result<(), StoreError> {
    let by = teller.quinn(teller.on(DAYS - 1, "18:10"));
    let socket = Family {
        code: "hall-socket".to_owned(),
        name: "Hall socket".to_owned(),
        purpose: Purpose::Input,
        pins: Some(2),
        rating_ma: Some(10_000),
        peak_ma: None,
        polarity: String::new(),
        source: "the plate beside it".to_owned(),
    };
    add_connector(teller.db, &by, socket).await.map_err(slip)?;
    Ok(())
}

/// P-001 to P-020, in the order of [`PACKS`].
async fn packs(teller: &Teller<'_>, cabinet: Uuid) -> Result<(), StoreError> {
    let by = teller.quinn(teller.on(DAYS - 1, "18:20"));
    let mut designs: Vec<(&str, Uuid)> = Vec::new();
    for row in PACKS {
        let known = designs.iter().find(|(name, _)| *name == row.0);
        let design_id = match known {
            Some((_, id)) => *id,
            None => save_design(teller.db, &by, None, &design(row))
                .await
                .map_err(slip)?,
        };
        designs.push((row.0, design_id));
        let details = Details {
            maker: "Tailrace Cells".to_owned(),
            batch: row.8.to_owned(),
            supplier: "Weir Street Models".to_owned(),
            price: String::new(),
            acquired_on: Some(by.zone.day_of(by.at).to_string()),
            first_used_on: None,
            place_id: Some(cabinet),
            notes: String::new(),
        };
        register_packs(teller.db, &by, design_id, row.7, &details)
            .await
            .map_err(slip)?;
    }
    Ok(())
}

fn design(row: Row) -> DesignSheet {
    let (
        name,
        chemistry,
        cells_series,
        capacity_mah,
        (discharge_c, charge_c),
        connector,
        mass_g,
        ..,
    ) = row;
    DesignSheet {
        name: name.to_owned(),
        chemistry,
        cells_series,
        groups_parallel: 1,
        capacity_mah,
        label_discharge_c_tenths: Some(discharge_c * 10),
        label_charge_c_tenths: Some(charge_c * 10),
        connector: connector.to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        mass_g: Some(mass_g),
        size_mm: String::new(),
        label: LabelVolts::default(),
    }
}

async fn kit(teller: &Teller<'_>, cabinet: Uuid) -> Result<(), StoreError> {
    let by = teller.quinn(teller.on(DAYS - 1, "19:10"));
    let all = [
        ("The big one", 1, Spec::Charger(big_charger())),
        ("The little one", 1, Spec::Charger(little_charger())),
        ("Table supply", 1, Spec::Supply(dc_supply())),
        ("Three-port supply", 1, Spec::Supply(usb_supply())),
        ("Long one", 1, Spec::Cable(cable())),
        (
            "XT60 to XT30",
            4,
            Spec::Adapter(adapter("xt60", "xt30", 15_000)),
        ),
        (
            "XT30 to RCY",
            3,
            Spec::Adapter(adapter("xt30", "jst-rcy", 3_000)),
        ),
        ("Old board", 1, Spec::Board(board())),
    ];
    for (name, owned_count, spec) in all {
        let sheet = KitSheet {
            name: name.to_owned(),
            maker: String::new(),
            notes: String::new(),
            place_id: Some(cabinet),
            owned_count,
            spec,
        };
        add_kit(teller.db, &by, sheet).await.map_err(slip)?;
    }
    Ok(())
}

fn big_charger() -> Charger {
    Charger {
        chemistries: ["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"]
            .map(str::to_owned)
            .into(),
        cells_from: 1,
        cells_to: 6,
        current_min_ma: 100,
        current_max_ma: 12_000,
        current_step_ma: 100,
        charge_mw: 200_000,
        discharge_mw: 10_000,
        modes: Mode::ALL.to_vec(),
        has_mah_cutoff: true,
        has_time_cutoff: true,
        outputs: 2,
        output_connector: "xt60".to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        current_memory: Memory::Remembers,
        input: Input::Dc {
            mv_min: 11_000,
            mv_max: 30_000,
            connector: "xt60".to_owned(),
        },
        fixed_through_balance: None,
        can_boost: true,
    }
}

/// Charges a tiny pack through its balance plug with one current, and so can't overdo it.
fn little_charger() -> Charger {
    Charger {
        chemistries: vec!["lipo".to_owned()],
        cells_from: 2,
        cells_to: 3,
        current_min_ma: 300,
        current_max_ma: 300,
        current_step_ma: 100,
        charge_mw: 4_000,
        discharge_mw: 0,
        modes: vec![Mode::Balance],
        has_mah_cutoff: false,
        has_time_cutoff: false,
        outputs: 1,
        output_connector: "jst-xh".to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        current_memory: Memory::Factory { ma: 300 },
        input: Input::UsbPd {
            mw: 10_000,
            levels_mv: Some(vec![9_000, 12_000]),
        },
        fixed_through_balance: Some(300),
        can_boost: true,
    }
}

fn dc_supply() -> Supply {
    Supply::Dc {
        mv: 24_000,
        mw: 300_000,
        connector: "xt60".to_owned(),
    }
}

fn usb_supply() -> Supply {
    let port = |mw| Port {
        levels: source_levels(mw),
    };
    Supply::UsbPd {
        ports: vec![port(65_000), port(65_000), port(20_000)],
        shared_mw: Some(100_000),
    }
}

fn cable() -> Cable {
    Cable {
        from: "usb-c".to_owned(),
        to: "usb-c".to_owned(),
        limit_mw: 60_000,
    }
}

fn adapter(from: &str, to: &str, rated_ma: i64) -> Adapter {
    Adapter {
        from: from.to_owned(),
        to: to.to_owned(),
        rated_ma,
    }
}

fn board() -> Board {
    Board {
        connectors: vec!["xt60".to_owned()],
        positions: 6,
    }
}

/// Everybody was shown; Bram's runs out next week, and Wren, a junior for whom Mo answers, was never shown.
async fn inductions(teller: &Teller<'_>) -> Result<(), StoreError> {
    let by = teller.quinn(teller.on(DAYS - 2, "19:00"));
    let cast = &teller.cast;
    let on = by.zone.day_of(by.at);
    let in_a_week = by.zone.day_of(teller.now).plus_days(7);
    let all = [
        (cast.quinn, None),
        (cast.mo, None),
        (cast.ada, None),
        (cast.bram, Some(in_a_week)),
    ];
    for (person, ends_on) in all {
        note_induction(teller.db, &by, person, cast.quinn, Shown { on, ends_on })
            .await
            .map_err(slip)?;
    }
    add_guest(teller.db, &by, "Wren", Some(cast.mo))
        .await
        .map_err(slip)?;
    Ok(())
}
