//! The units that a log's columns may be in: how they are spelled, and what brings them into those of `battery::log`.

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    Second,
    Millisecond,
    Minute,
    Hour,
    /// 1:02:03
    Clock,
    Volt,
    Millivolt,
    Ampere,
    Milliampere,
    AmpereHour,
    MilliampereHour,
    Ohm,
    Milliohm,
    Celsius,
    /// A count.
    One,
}

impl Unit {
    pub const ALL: [Self; 15] = [
        Self::Second,
        Self::Millisecond,
        Self::Minute,
        Self::Hour,
        Self::Clock,
        Self::Volt,
        Self::Millivolt,
        Self::Ampere,
        Self::Milliampere,
        Self::AmpereHour,
        Self::MilliampereHour,
        Self::Ohm,
        Self::Milliohm,
        Self::Celsius,
        Self::One,
    ];

    /// As people write it, which is its code too.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Second => "s",
            Self::Millisecond => "ms",
            Self::Minute => "min",
            Self::Hour => "h",
            Self::Clock => "h:mm:ss",
            Self::Volt => "V",
            Self::Millivolt => "mV",
            Self::Ampere => "A",
            Self::Milliampere => "mA",
            Self::AmpereHour => "Ah",
            Self::MilliampereHour => "mAh",
            Self::Ohm => "ohm",
            Self::Milliohm => "mohm",
            Self::Celsius => "degC",
            Self::One => "1",
        }
    }

    pub fn from_label(label: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.label() == label)
    }

    /// What a number in it is multiplied with.
    pub const fn factor(self) -> f64 {
        match self {
            Self::Millisecond
            | Self::Millivolt
            | Self::Milliampere
            | Self::MilliampereHour
            | Self::Milliohm => 0.001,
            Self::Minute => 60.0,
            Self::Hour => 3_600.0,
            _ => 1.0,
        }
    }

    /// How it stands at the end of a heading, each as its words.
    const fn spellings(self) -> &'static [&'static [&'static str]] {
        match self {
            Self::Second => &[&["s"], &["sec"], &["second"], &["seconds"]],
            Self::Millisecond => &[&["ms"], &["msec"], &["milliseconds"]],
            Self::Minute => &[&["min"], &["minute"], &["minutes"]],
            Self::Hour => &[&["h"], &["hour"], &["hours"], &["hrs"]],
            Self::Clock => &[&["hh", "mm", "ss"], &["h", "mm", "ss"]],
            Self::Volt => &[&["v"], &["volt"], &["volts"]],
            Self::Millivolt => &[&["mv"], &["millivolt"], &["millivolts"]],
            Self::Ampere => &[&["a"], &["amp"], &["amps"], &["ampere"]],
            Self::Milliampere => &[&["ma"], &["milliamp"], &["milliamps"], &["milliampere"]],
            Self::AmpereHour => &[&["ah"]],
            Self::MilliampereHour => &[&["mah"]],
            Self::Ohm => &[&["ohm"], &["ohms"], &["ω"]],
            Self::Milliohm => &[&["mohm"], &["mohms"], &["milliohm"], &["mω"]],
            Self::Celsius => &[&["c"], &["degc"], &["celsius"], &["deg", "c"]],
            Self::One => &[&["1"], &[]],
        }
    }

    pub(super) fn ends(self, words: &[&str]) -> bool {
        self.spellings()
            .iter()
            .any(|spelling| words.ends_with(spelling))
    }

    /// How many of the words it takes; the longest spelling counts.
    pub(super) fn words_at_end(self, words: &[&str]) -> usize {
        let fitting = self
            .spellings()
            .iter()
            .filter(|spelling| words.ends_with(spelling));
        fitting.map(|spelling| spelling.len()).max().unwrap_or(0)
    }
}
