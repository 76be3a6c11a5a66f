//! Changes of a plan, its pack or its kit, each with the one word that the proof must then say.

use super::*;

pub const ALL: [Change; 35] = [
    ("chemistry", |plan, _, hand| {
        its_charger(plan, hand).sheet.chemistries.clear();
        true
    }),
    ("cells", |plan, asked, hand| {
        its_charger(plan, hand).sheet.cells_to = asked.pack.build.cells_series - 1;
        true
    }),
    ("busy output", |plan, _, hand| {
        let running = Running {
            output: plan.output,
            wired: Wired::Unknown,
            supply: None,
            input_mw: 0,
        };
        its_charger(plan, hand).running.push(running);
        true
    }),
    ("output", |plan, _, hand| {
        its_charger(plan, hand).sheet.outputs = plan.output;
        true
    }),
    ("cells unseen", |plan, asked, hand| {
        its_charger(plan, hand).sheet.balance_connector = None;
        asked.pack.build.chemistry.is_lithium() && asked.pack.build.cells_series > 1
    }),
    ("balance plug", |plan, asked, _| {
        asked.pack.balance = Some("jst-ph".into());
        plan.through_balance
    }),
    ("plugs do not meet", |plan, asked, _| {
        asked.pack.connector = "ec5".into();
        !plan.through_balance
    }),
    ("adapters do not meet", |plan, _, hand| {
        on(its_adapter(plan, hand), |adapter| {
            adapter.sheet.from = "ec5".into()
        })
    }),
    ("needless adapter", |plan, asked, hand| {
        let output = its_charger(plan, hand).sheet.output_connector.clone();
        asked.pack.connector = output;
        !plan.chain.adapters.is_empty()
    }),
    ("three adapters", |plan, _, _| {
        let first = plan.chain.adapters.first().cloned();
        on(first, |first| {
            plan.chain.adapters.extend([first.clone(), first])
        })
    }),
    ("adapter not free", |plan, _, hand| {
        on(its_adapter(plan, hand), |adapter| adapter.free = 0)
    }),
    ("adapter", |plan, _, hand| {
        let ma = plan.current_ma;
        on(its_adapter(plan, hand), |adapter| {
            adapter.sheet.rated_ma = ma - 1
        })
    }),
    ("plug", |plan, _, hand| {
        let ma = plan.current_ma;
        let last = plan.chain.plugs.last().cloned();
        let family = hand
            .families
            .iter_mut()
            .find(|each| Some(&each.code) == last.as_ref());
        on(family, |family| family.rating_ma = Some(ma - 1))
    }),
    ("label", |plan, asked, _| {
        let mah = asked.pack.build.capacity_mah;
        asked.pack.label_charge_c_tenths = Some((plan.current_ma * 10 + mah - 1) / mah - 1);
        true
    }),
    ("club's rate", |plan, asked, _| {
        let mah = asked.pack.build.capacity_mah;
        let less = (plan.current_ma * 10 + mah - 1) / mah - 1;
        (asked.club.usual_c_tenths, asked.club.most_c_tenths) = (less, less);
        true
    }),
    ("cold", |plan, asked, _| {
        asked.warmth.room_celsius = Some(4);
        let tenths = if asked.pack.build.chemistry == Chemistry::NiMh {
            3
        } else {
            5
        };
        plan.current_ma > asked.pack.build.capacity_mah * tenths / 10
    }),
    ("heat", |plan, asked, _| {
        asked.warmth.pack_celsius = Some(41);
        plan.current_ma > asked.pack.build.capacity_mah / 2
    }),
    ("disposal", |plan, asked, _| {
        asked.purpose = Purpose::Empty;
        plan.current_ma > asked.pack.build.capacity_mah / 10
    }),
    ("charger's most", |plan, _, hand| {
        its_charger(plan, hand).sheet.current_max_ma = plan.current_ma - 1;
        true
    }),
    ("charger's watts", |plan, asked, hand| {
        its_charger(plan, hand).sheet.charge_mw = plan.current_ma * full_mv(asked) / 1_000 - 1;
        is_up(plan)
    }),
    ("discharge watts", |plan, asked, hand| {
        let drawn = plan.current_ma * asked.pack.volts.total_mv() / 1_000;
        its_charger(plan, hand).sheet.discharge_mw = drawn - 1;
        !is_up(plan)
    }),
    ("charger's steps", |plan, _, hand| {
        its_charger(plan, hand).sheet.current_min_ma = plan.current_ma + 1;
        !plan.through_balance
    }),
    ("charger's modes", |plan, _, hand| {
        its_charger(plan, hand)
            .sheet
            .modes
            .retain(|mode| *mode != plan.mode);
        true
    }),
    ("mode", |plan, _, _| {
        plan.mode = if is_up(plan) {
            Mode::Discharge
        } else {
            Mode::Balance
        };
        true
    }),
    ("target above", |plan, _, _| {
        plan.target_cell_mv += 10;
        is_up(plan)
    }),
    ("target below", |plan, asked, _| {
        plan.target_cell_mv = asked.pack.limits.minimum_mv - 1;
        true
    }),
    ("target of all cells", |plan, _, _| {
        plan.target_mv += 1;
        true
    }),
    ("balance lead", |plan, asked, _| {
        plan.has_balance_lead = false;
        asked.pack.build.chemistry.is_lithium() && asked.pack.build.cells_series > 1
    }),
    ("put back", |plan, asked, _| {
        plan.cutoff_mah = asked.pack.build.capacity_mah * 106 / 100 + 1;
        asked.pack.build.chemistry.is_lithium()
    }),
    ("quick", |plan, asked, _| {
        asked.pack.owes_balance = true;
        !plan.is_balanced
    }),
    ("quick unasked", |plan, asked, _| {
        asked.purpose = Purpose::NoHurry { there_minutes: 60 };
        !plan.is_balanced
    }),
    ("warmth unknown", |_, asked, _| {
        asked.warmth.pack_celsius = None;
        true
    }),
    ("too cold", |_, asked, _| {
        asked.warmth.room_celsius = Some(-1);
        true
    }),
    ("too hot", |_, asked, _| {
        asked.club.charge_to_celsius = 60;
        asked.warmth.pack_celsius = Some(46);
        true
    }),
    ("cell too low", |_, asked, _| {
        asked.pack.limits.minimum_mv = 5_000;
        true
    }),
];

pub const OF_FEEDS: [Change; 24] = [
    ("cell too high", |_, asked, _| {
        asked.pack.limits.over_full_mv = 100;
        true
    }),
    ("no supply", |plan, _, _| {
        let had = plan.feed.source.take();
        had.is_some()
    }),
    ("supply at a mains charger", |plan, _, hand| {
        its_charger(plan, hand).sheet.input = Input::Mains;
        plan.feed.source.is_some()
    }),
    ("boost", |plan, asked, hand| {
        its_charger(plan, hand).sheet.can_boost = false;
        let full = full_mv(asked);
        plan.feed
            .source
            .as_ref()
            .is_some_and(|source| source.mv < full + 1_000)
    }),
    ("wire", |plan, _, hand| {
        on(its_cable(plan, hand), |cable| cable.from = "ec5".into())
    }),
    ("supply feeds another", |plan, _, hand| {
        let Some(source) = plan.feed.source.clone() else {
            return false;
        };
        let on = Running {
            output: 0,
            wired: Wired::Unknown,
            supply: Some((source.supply.number, source.port.unwrap_or(0))),
            input_mw: 1,
        };
        let other = ChargerAtHand {
            running: vec![on],
            ..charger(99, usb_charger())
        };
        hand.chargers.push(other);
        true
    }),
    ("runs on another supply", |plan, _, hand| {
        let on = Running {
            output: 9,
            wired: Wired::Unknown,
            supply: Some(("S-77".into(), 0)),
            input_mw: 1,
        };
        its_charger(plan, hand).running.push(on);
        plan.feed.source.is_some()
    }),
    ("nothing left", |plan, _, hand| {
        let on = Running {
            output: 9,
            wired: Wired::Unknown,
            supply: None,
            input_mw: 900_000,
        };
        its_charger(plan, hand).running.push(on);
        plan.feed.source.is_some() && its_port(plan, hand).is_some()
    }),
    ("needs USB PD", |plan, _, hand| {
        its_charger(plan, hand).sheet.input = Input::UsbPd {
            mw: 240_000,
            levels_mv: None,
        };
        matches!(its_supply(plan, hand), Some(Supply::Dc { .. }))
    }),
    ("level", |plan, _, hand| {
        on(
            plan.feed
                .source
                .as_mut()
                .filter(|source| source.port.is_some()),
            |source| source.mv += 1,
        ) && its_port(plan, hand).is_some()
    }),
    ("level", |plan, _, hand| {
        match &mut its_charger(plan, hand).sheet.input {
            Input::UsbPd { levels_mv, .. } => *levels_mv = Some(vec![11_000]),
            _ => return false,
        }
        true
    }),
    ("five volts", |plan, _, hand| {
        let is_pd = matches!(its_charger(plan, hand).sheet.input, Input::UsbPd { .. });
        let cut = on(its_port(plan, hand), |port| port.levels.truncate(1));
        if let Some(source) = plan.feed.source.as_mut() {
            source.mv = 5_000;
        }
        is_pd && cut
    }),
    ("input volts", |plan, _, hand| {
        let mv = plan.feed.source.as_ref().map_or(0, |source| source.mv);
        match &mut its_charger(plan, hand).sheet.input {
            Input::Dc { mv_max, .. } => *mv_max = mv - 1,
            _ => return false,
        }
        true
    }),
    ("input volts", |plan, _, hand| {
        let mv = plan.feed.source.as_ref().map_or(0, |source| source.mv);
        if plan
            .feed
            .source
            .as_ref()
            .is_none_or(|source| source.port.is_some())
        {
            return false;
        }
        match &mut its_charger(plan, hand).sheet.input {
            Input::Dc { mv_min, .. } => *mv_min = mv + 1,
            _ => return false,
        }
        true
    }),
    ("cable's mark", |plan, _, hand| {
        let mw = plan.drawn_mw;
        is_up(plan) && on(its_cable(plan, hand), |cable| cable.limit_mw = mw * 9 / 10)
    }),
    ("cable's amps", |plan, asked, hand| {
        // More than 3 A through a cable that is not marked for it.
        let mv = plan.feed.source.as_ref().map_or(0, |source| source.mv);
        plan.current_ma = mv * 3_100 / 1_000 * 850 / full_mv(asked);
        is_up(plan)
            && its_port(plan, hand).is_some()
            && on(its_cable(plan, hand), |cable| cable.limit_mw = 60_000)
    }),
    ("supply's watts", |plan, _, hand| {
        let drawn = plan.drawn_mw;
        match its_supply(plan, hand) {
            Some(Supply::Dc { mw, .. }) => *mw = drawn * 9 / 10,
            _ => return false,
        }
        is_up(plan)
    }),
    ("charger's input watts", |plan, _, hand| {
        let drawn = plan.drawn_mw;
        match &mut its_charger(plan, hand).sheet.input {
            Input::UsbPd { mw, .. } => *mw = drawn * 9 / 10,
            _ => return false,
        }
        is_up(plan)
    }),
    ("level's amps", |plan, _, hand| {
        let (mv, drawn) = (
            plan.feed.source.as_ref().map_or(0, |source| source.mv),
            plan.drawn_mw,
        );
        is_up(plan)
            && on(its_port(plan, hand), |port| {
                let its = port.levels.iter_mut().filter(|level| level.mv == mv);
                its.for_each(|level| level.ma = drawn * 900 / mv);
            })
    }),
    ("level's watts", |plan, _, hand| {
        let (mv, drawn) = (
            plan.feed.source.as_ref().map_or(0, |source| source.mv),
            plan.drawn_mw,
        );
        is_up(plan)
            && on(its_port(plan, hand), |port| {
                let its = port.levels.iter_mut().filter(|level| level.mv == mv);
                its.for_each(|level| level.ma = drawn * 800 / mv);
            })
            && drawn > 2_000
    }),
    ("input plug", |plan, _, hand| {
        let (mv, drawn) = (
            plan.feed.source.as_ref().map_or(0, |source| source.mv),
            plan.drawn_mw,
        );
        let Input::Dc { connector, .. } = its_charger(plan, hand).sheet.input.clone() else {
            return false;
        };
        let family = hand.families.iter_mut().find(|each| each.code == connector);
        on(family, |family| {
            family.rating_ma = Some(drawn * 900 / mv.max(1))
        }) && is_up(plan)
            && mv > 0
    }),
    ("input plug", |plan, _, hand| {
        let (mv, drawn) = (
            plan.feed.source.as_ref().map_or(0, |source| source.mv),
            plan.drawn_mw,
        );
        let is_usb = its_port(plan, hand).is_some();
        let family = hand.families.iter_mut().find(|each| each.code == "usb-c");
        on(family, |family| {
            family.rating_ma = Some(drawn * 900 / mv.max(1))
        }) && is_up(plan)
            && is_usb
    }),
    ("shared watts", |plan, _, hand| {
        let drawn = plan.drawn_mw;
        match its_supply(plan, hand) {
            Some(Supply::UsbPd { shared_mw, .. }) => *shared_mw = Some(drawn * 9 / 10),
            _ => return false,
        }
        is_up(plan)
    }),
    ("drawn", |plan, _, _| {
        plan.drawn_mw /= 2;
        is_up(plan) && plan.feed.mw.is_some() && plan.drawn_mw > 1_000
    }),
];
