//! What a pack's readings tell together, in words: what counts against it, and how much it holds, how its cells stand, what
//! it may give and what lying costs it. The figures are the rules' own; here they are only worded.

use crate::battery::ageing::Ageing;
use crate::battery::capacity::NoCapacity;
use crate::battery::peak::{Peak, Unknown};
use crate::battery::range::Range;
use crate::battery::remaining::Remaining;
use crate::club::calendar::Instant;
use crate::club::health::{
    Asked, BalanceTold, CapacityTold, ChargeTold, EnergyTold, Health, HealthLimits, HealthReading,
    LyingTold, RateTold, Reason, ResistanceTold, Told, health,
};
use crate::club::verdict::{silence, silence_charging};
use crate::store::packs::PackView;
use crate::web::visit::SignedIn;

pub struct ReadingsTold {
    pub reasons: Vec<ReasonTold>,
    pub facts: Vec<(&'static str, String)>,
}

pub struct ReasonTold {
    pub words: String,
    pub next: String,
    pub sure: &'static str,
    pub source: &'static str,
}

/// What the readings of a pack on record say by the club's limits, told as `told` has it.
pub(super) fn weighed<T>(
    pack: &PackView,
    (readings, sisters): (&[HealthReading], &[HealthReading]),
    who: &SignedIn,
    told: impl FnOnce(Health, &Asked<'_>) -> T,
) -> T {
    let limits = who.club.limits();
    let asked = Asked {
        pack: &pack.for_health(),
        readings,
        sisters,
        now: who.now,
        club: &limits,
        limits: &HealthLimits::of(&limits),
        zone: Some(&who.zone),
    };
    let mut health = health(&asked);
    let findings = health.reasons.iter_mut().map(|reason| &mut reason.finding);
    if pack.is_quarantined() {
        findings.for_each(|finding| finding.next.clear());
    } else if pack.is_set_aside() {
        silence_charging(findings);
    } else {
        silence(findings);
    }
    told(health, &asked)
}

impl ReadingsTold {
    pub fn of(pack: &PackView, read: (&[HealthReading], &[HealthReading]), who: &SignedIn) -> Self {
        let numbers = who.numbers();
        weighed(pack, read, who, |health, _| Self {
            reasons: health
                .reasons
                .iter()
                .map(|reason| ReasonTold::of(reason, who))
                .collect(),
            facts: facts(&health.told, who.now)
                .into_iter()
                .map(|(name, words)| (name, numbers.sentence(&words)))
                .collect(),
        })
    }
}

impl ReasonTold {
    fn of(reason: &Reason, who: &SignedIn) -> Self {
        let numbers = who.numbers();
        Self {
            words: numbers.sentence(&reason.finding.words),
            next: numbers.sentence(&reason.finding.next),
            sure: reason.sure.words(),
            source: reason.source,
        }
    }
}

/// What can be told; what can't is left away where nothing was read for it, and named where it was.
fn facts(told: &Told, now: Instant) -> Vec<(&'static str, String)> {
    let peak = peak(&told.peak.peak).filter(|_| told.charge.is_some());
    let known = [
        (
            "Charge when last read rested",
            told.charge.as_ref().map(charge),
        ),
        ("Cells", told.balance.as_ref().map(balance)),
        ("Resistance", told.resistance.as_ref().map(resistance)),
        ("Capacity", capacity(told.capacity.as_ref(), now)),
        ("Lost by lying", told.lying.as_ref().and_then(lying)),
        ("Of full use for", remaining(told.remaining)),
        ("Most current for seconds", peak),
        ("Gave then, as it lay", told.energy.as_ref().map(energy)),
        (
            "A year of lying so",
            told.ageing.as_ref().map(|told| ageing(&told.ageing)),
        ),
    ];
    let told = known.into_iter();
    told.filter_map(|(name, words)| Some((name, words?)))
        .collect()
}

/// `5 to 15`
fn span(range: Range) -> String {
    format!("{:.0} to {:.0}", range.least, range.most)
}

/// `4.8 to 15`: tenths where there are few.
fn fine_span(range: Range) -> String {
    let one = |value: f64| {
        if value.abs() < 10.0 {
            format!("{value:.1}")
        } else {
            format!("{value:.0}")
        }
    };
    format!("{} to {}", one(range.least), one(range.most))
}

fn days_ago(days: f64) -> String {
    match days.max(0.0).round() as i64 {
        0 => "today".to_owned(),
        1 => "a day ago".to_owned(),
        days => format!("{days} days ago"),
    }
}

fn charge(told: &ChargeTold) -> String {
    let when = days_ago(told.days_ago);
    let (low, high) = (told.charge.low_percent, told.charge.high_percent);
    let rest = if told.is_settled {
        ""
    } else {
        "; it had rested less than an hour, so it may be more or less than usual"
    };
    match told.charge.percent {
        Some(percent) => {
            format!("About {percent:.0} % ({low:.0} to {high:.0}) in its lowest cell, {when}{rest}")
        }
        None => format!("Somewhere between {low:.0} and {high:.0} %, {when}{rest}"),
    }
}

fn balance(told: &BalanceTold) -> String {
    let imbalance = told.imbalance;
    let apart = format!("{} mV apart", imbalance.spread_mv);
    let points = imbalance.spread_percent.map_or_else(String::new, |points| {
        format!(
            ", about {:.0} % of charge ({})",
            points.likely,
            span(points)
        )
    });
    let odd = imbalance.odd.map_or_else(String::new, |odd| {
        let way = if odd.from_others_mv < 0 {
            "below"
        } else {
            "above"
        };
        format!("; cell {} stands {way} the others", odd.cell)
    });
    format!("{apart}{points}{odd}")
}

fn resistance(told: &ResistanceTold) -> String {
    let list = |each: &dyn Fn(usize) -> Option<f64>| {
        let figures = (0..told.cells.len())
            .map(each)
            .collect::<Option<Vec<f64>>>();
        let figures = figures.filter(|figures| !figures.is_empty())?;
        let words: Vec<String> = figures
            .iter()
            .map(|figure| format!("{figure:.1}"))
            .collect();
        Some(words.join(" "))
    };
    let cell = |index: usize| told.cells.get(index);
    let at_25 = list(&|index| cell(index)?.milliohm_at_25);
    let as_read = || list(&|index| Some(cell(index)?.milliohm)).unwrap_or_default();
    let first = list(&|index| cell(index)?.times_first);
    let figures = at_25.map_or_else(
        || format!("{} mΩ as read", as_read()),
        |at_25| format!("{at_25} mΩ as at 25 °C"),
    );
    let course = first.map_or_else(String::new, |first| {
        format!("; {first} times its first readings")
    });
    let why = told.incomparable.map_or_else(String::new, |why| {
        format!("; this reading is held against its own cells alone, since {why}")
    });
    format!("{figures}{course}{why}")
}

fn capacity(told: Result<&CapacityTold, &NoCapacity>, now: Instant) -> Option<String> {
    let told = match told {
        Ok(told) => told,
        Err(NoCapacity::NoCharge) => return None,
        Err(why) => return Some(format!("Not known: {why}")),
    };
    let (low, likely, high) = (
        told.capacity.low_mah,
        told.capacity.likely_mah,
        told.capacity.high_mah,
    );
    let when = days_ago(now.days_since(told.at) as f64);
    let label = told.percent_of_label;
    let fade = told.fade.and_then(|fade| fade.lost_percent_a_year);
    let fade = fade.map_or_else(String::new, |lost| {
        format!(
            "; it loses about {:.0} % of that a year ({})",
            lost.likely,
            span(lost)
        )
    });
    Some(format!(
        "About {likely} mAh ({low} to {high}), {label:.0} % of its label, counted {when}{fade}"
    ))
}

fn in_days(days: f64) -> String {
    match days.round() as i64 {
        ..=1 => "in a day".to_owned(),
        days => format!("in {days} days"),
    }
}

/// Of the cell that lost most.
fn lying(told: &LyingTold) -> Option<String> {
    let worst = told.cells.iter().max_by_key(|cell| cell.fallen_mv)?;
    let (cell, days) = (worst.cell, told.days);
    let expected = fine_span(told.expected_percent_a_month);
    let lost = worst.percent_a_month.map_or_else(
        || format!("{} mV", worst.fallen_mv),
        |percent| format!("about {}", RateTold::of(percent, days)),
    );
    Some(format!(
        "Cell {cell} most, {lost} {}; a good pack loses {expected} % a month",
        in_days(days)
    ))
}

fn remaining(told: Remaining) -> Option<String> {
    match told {
        Remaining::NotEnoughReadings { have, need } => Some(format!(
            "Not enough readings: {have} that count, {need} are needed"
        )),
        Remaining::TooShortWatched => {
            Some("Not known: its readings are all of one time".to_owned())
        }
        Remaining::Reached => Some("No longer: it is one for practice".to_owned()),
        Remaining::Between {
            least,
            most: Some(most),
        } => Some(format!("{least:.0} to {most:.0} months")),
        Remaining::Between { least, most: None } => Some(format!(
            "At least {least:.0} months; how much longer can't be told yet"
        )),
    }
}

fn peak(peak: &Peak) -> Option<String> {
    let amperes = |ma: f64| format!("{:.0}", ma / 1_000.0);
    let by_label = peak
        .label_ma
        .map(|ma| format!("{} A by its label", amperes(ma as f64)));
    let resistance = if peak.unknown.contains(&Unknown::Resistance) {
        "a typical"
    } else {
        "its own"
    };
    let by_sag = peak.sag_ma.map(|ma| {
        let (likely, least, most) = (amperes(ma.likely), amperes(ma.least), amperes(ma.most));
        format!("{likely} A ({least} to {most}) until it sags, by {resistance} resistance")
    });
    let both: Vec<String> = [by_label, by_sag].into_iter().flatten().collect();
    (!both.is_empty()).then(|| both.join("; "))
}

/// `About 9.1 Wh (7.4 to 9.9) at 1.3 A, in 30 to 41 min, until 20 % is left`
fn energy(told: &EnergyTold) -> String {
    let wh = |mwh: f64| format!("{:.1}", mwh / 1_000.0);
    let usable = &told.usable;
    let energy = usable.energy_mwh;
    let (likely, least, most) = (wh(energy.likely), wh(energy.least), wh(energy.most));
    let amperes = told.current_ma as f64 / 1_000.0;
    let (minutes, left) = (span(usable.minutes), told.down_to_percent);
    let short = if usable.may_be_cut_short {
        ", or sooner by its volts"
    } else {
        ""
    };
    let by_label = if told.is_by_label {
        "; if it holds what its label says"
    } else {
        ""
    };
    format!(
        "About {likely} Wh ({least} to {most}) at {amperes:.1} A, in {minutes} min, until {left:.0} % is left{short}{by_label}"
    )
}

fn ageing(told: &Ageing) -> String {
    let (handbook, laboratory) = (fine_span(told.handbook), fine_span(told.laboratory));
    format!(
        "Costs {handbook} % of its capacity by a handbook's table, {laboratory} % by laboratory cells"
    )
}
