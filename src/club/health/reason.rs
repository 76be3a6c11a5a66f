//! A reason: the finding with its rule, words and what would change it, beside the figure, the limit, where the limit comes
//! from and how sure it is.

use crate::club::verdict::{Finding, Rule};

#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    pub finding: Finding,
    /// Cell 1 first.
    pub cell: Option<usize>,
    pub figure: Option<Figure>,
    pub source: &'static str,
    pub sure: Sure,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    pub value: f64,
    pub limit: f64,
    pub unit: Unit,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    Times,
    MilliohmAh,
    PercentOfLabel,
    PercentAMonth,
    PercentADay,
    MvAMonth,
    PercentOfCharge,
    Volts,
}

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// What curve and meter leave open reaches to the kind side of the limit.
    Perhaps,
    /// That it only lay goes by the record.
    OnRecord,
    /// It may be mistyped, or the meter touched badly.
    OneReading,
    SeveralReadings,
    /// As the meter shows it or a person said it; nothing is inferred.
    AsRecorded,
}

impl Sure {
    pub const ALL: [Self; 5] = [
        Self::Perhaps,
        Self::OnRecord,
        Self::OneReading,
        Self::SeveralReadings,
        Self::AsRecorded,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Perhaps => "perhaps",
            Self::OnRecord => "on_record",
            Self::OneReading => "one_reading",
            Self::SeveralReadings => "several_readings",
            Self::AsRecorded => "as_recorded",
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Perhaps => "Not sure: it may as well be inside the limit.",
            Self::OnRecord => "Not sure: somebody may have used it and not written it down.",
            Self::OneReading => "One reading says so; it may be mistyped.",
            Self::SeveralReadings => "Several readings say so.",
            Self::AsRecorded => "As it was read or said.",
        }
    }

    /// By how many readings speak.
    pub(super) const fn of_readings(count: usize) -> Self {
        match count {
            0 | 1 => Self::OneReading,
            _ => Self::SeveralReadings,
        }
    }
}

impl Unit {
    pub const fn code(self) -> &'static str {
        match self {
            Self::Times => "times",
            Self::MilliohmAh => "milliohm_ah",
            Self::PercentOfLabel => "percent_of_label",
            Self::PercentAMonth => "percent_a_month",
            Self::PercentADay => "percent_a_day",
            Self::MvAMonth => "mv_a_month",
            Self::PercentOfCharge => "percent_of_charge",
            Self::Volts => "volts",
        }
    }
}

impl Reason {
    /// Of what was read or said as it is.
    pub(super) fn recorded(finding: Finding) -> Self {
        let sure = match finding.rule {
            Rule::Implausible => Sure::OneReading,
            _ => Sure::AsRecorded,
        };
        Self {
            source: source_of(finding.rule),
            finding,
            cell: None,
            figure: None,
            sure,
        }
    }
}

/// Where the limit of a rule comes from.
pub(super) const fn source_of(rule: Rule) -> &'static str {
    match rule {
        Rule::Seen(_) => {
            "Battery makers' guides, fire services and clubs; what is final and what a second person may release is common practice."
        }
        Rule::OverDischarged | Rule::MissingCell => {
            "The least that a cell of its chemistry may rest at, or its label or the club where they are stricter; 3.0 V for LiPo: a county fire service and a university's safety office."
        }
        Rule::OverCharged | Rule::OverFullWarn => {
            "4.20 V give or take 0.05 V for LiPo and Li-ion: a battery-education site; the kernel's phone cells for LiHV; vendors' charts for LiFePO4."
        }
        Rule::ResistanceUp => {
            "Common practice: 1.5 times for practice only, twice to retire. Twice at 80 % of capacity: a student vehicle team."
        }
        Rule::ResistanceHigh => "Hobby tables for packs of 1 to 5 Ah, times their capacity.",
        Rule::CapacityLow => {
            "80 % of the rating: IEEE 450 and 1188, of lead. 60 %: where IEC 61960-3 ends the endurance of portable cells, from memory."
        }
        Rule::SelfDischarge => {
            "Common practice: 5 % a month, or 20 mV a month more than its mates. 30 % in a day: a battery-education site."
        }
        Rule::TookTooMuch => "105 % of its label: a maker's put-back limit.",
        Rule::ReadingOld | Rule::NeverRead => "90 days: a battery maker's storage note.",
        _ => "Common practice, no source.",
    }
}

/// The same of what readings say; empty of what a person said, or the record.
pub const fn source_told(rule: Rule) -> &'static str {
    if rule.is_of_volts() || rule.is_of_health() {
        source_of(rule)
    } else {
        ""
    }
}

/// A limit: `1.5`, `1.25`, `2`.
pub(super) fn limit_words(limit: f64) -> String {
    let text = format!("{limit:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A figure past a limit: `1.7`; two decimals where one would read as the limit itself.
pub(super) fn figure_words(value: f64, limit: f64) -> String {
    let short = format!("{value:.1}");
    if value != limit && short.parse() == Ok(limit) {
        format!("{value:.2}")
    } else {
        short.trim_end_matches(".0").to_owned()
    }
}

/// ` Cell 3 is past it too.`, ` Cells 1 and 3 are past it too.`; nothing of none.
pub(super) fn others_words(cells: &[usize]) -> String {
    match cells {
        [] => String::new(),
        [one] => format!(" Cell {one} is past it too."),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(usize::to_string).collect();
            format!(" Cells {} and {last} are past it too.", first.join(", "))
        }
    }
}
