//! Connector families: what each carries, how many pins it has, what keeps it from being plugged the wrong way.
//! Makers and sellers disagree on ratings; the maker's low figure stands here and a club may add families of its own.
//! Currents in mA, continuous and short peak. Whether an adapter exists is asked of `chain`.

use serde::{Deserialize, Serialize};

use super::{FieldProblem, Findings};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// The main leads of a pack.
    Discharge,
    /// One wire per cell and one more.
    Balance,
    /// Feeds a charger.
    Input,
    /// The output socket of a charger.
    Charger,
}

impl Purpose {
    pub const ALL: [Purpose; 4] = [
        Purpose::Discharge,
        Purpose::Balance,
        Purpose::Input,
        Purpose::Charger,
    ];

    pub fn code(self) -> &'static str {
        match self {
            Purpose::Discharge => "discharge",
            Purpose::Balance => "balance",
            Purpose::Input => "input",
            Purpose::Charger => "charger",
        }
    }

    pub fn from_code(code: &str) -> Option<Purpose> {
        Purpose::ALL
            .into_iter()
            .find(|purpose| purpose.code() == code)
    }

    pub fn label(self) -> &'static str {
        match self {
            Purpose::Discharge => "pack lead",
            Purpose::Balance => "balance lead",
            Purpose::Input => "input",
            Purpose::Charger => "charger output",
        }
    }
}

/// `rating_ma` is continuous; `None` means no figure is on record, never "without limit".
/// `pins` is `None` where it follows the cells (see `balance_pins`) or was not recorded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Family {
    pub code: String,
    pub name: String,
    pub purpose: Purpose,
    pub pins: Option<i64>,
    pub rating_ma: Option<i64>,
    pub peak_ma: Option<i64>,
    pub polarity: String,
    pub source: String,
}

/// A balance plug has one pin per cell and one more. Source: JST catalogue page of the 2.5 mm header and XH guide.
pub fn balance_pins(cells: i64) -> i64 {
    cells.saturating_add(1)
}

impl Family {
    /// Its shape does not keep the polarity, so that somebody looks: a card says so.
    pub fn asks_to_check(&self) -> bool {
        self.polarity.contains("check")
    }

    /// Pins this family shows on a pack of so many cells; `None` if not on record.
    pub fn pins_for(&self, cells: i64) -> Option<i64> {
        match self.purpose {
            Purpose::Balance => Some(self.pins.unwrap_or_else(|| balance_pins(cells))),
            _ => self.pins,
        }
    }

    /// A club's own family: a code of letters, digits and `-`, plausible figures (pins 1 to 24, up to 500 A).
    pub fn checked(self) -> Result<Family, Vec<FieldProblem>> {
        let mut findings = Findings::default();
        let is_plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
        let has_code = (1..=40).contains(&self.code.len()) && self.code.chars().all(is_plain);
        findings.unless(
            has_code,
            "code",
            "Use letters, digits and '-' for the code, at most 40.",
        );
        let has_name = (1..=60).contains(&self.name.trim().chars().count());
        findings.unless(
            has_name,
            "name",
            "Give the family a name of at most 60 letters.",
        );
        if let Some(pins) = self.pins {
            findings.within(pins, 1..=24, "pins", "A connector has 1 to 24 pins.");
        }
        if let Some(rating) = self.rating_ma {
            findings.within(
                rating,
                100..=500_000,
                "rating_ma",
                "A rating lies between 0.1 and 500 A.",
            );
        }
        if let Some(peak) = self.peak_ma {
            findings.within(
                peak,
                100..=500_000,
                "peak_ma",
                "A peak lies between 0.1 and 500 A.",
            );
            let is_lower = self.rating_ma.is_some_and(|rating| peak < rating);
            findings.unless(
                !is_lower,
                "peak_ma",
                "The peak is not lower than the continuous rating.",
            );
        }
        findings.pass(self)
    }
}

/// The families every club starts with. Three-pin motor plugs are left out: they are no pack's plug.
pub fn built_in() -> Vec<Family> {
    BUILT_IN.iter().map(Row::family).collect()
}

/// The name a connector is shown by: a built-in family's, else the code itself (a club's own family).
pub fn shown(code: &str) -> &str {
    BUILT_IN
        .iter()
        .find(|row| row.0 == code)
        .map_or(code, |row| row.1)
}

/// The name among these families of the club's own, else as [`shown`].
pub fn called<'c>(code: &'c str, own: &'c [Family]) -> &'c str {
    own.iter()
        .find(|family| family.code == code)
        .map_or_else(|| shown(code), |family| &family.name)
}

/// code, name, purpose, pins, rating mA, peak mA, polarity, source; 0 means not on record.
struct Row(
    &'static str,
    &'static str,
    Purpose,
    i64,
    i64,
    i64,
    &'static str,
    &'static str,
);

impl Row {
    fn family(&self) -> Family {
        let on_record = |figure: i64| (figure > 0).then_some(figure);
        Family {
            code: self.0.into(),
            name: self.1.into(),
            purpose: self.2,
            pins: on_record(self.3),
            rating_ma: on_record(self.4),
            peak_ma: on_record(self.5),
            polarity: self.6.into(),
            source: self.7.into(),
        }
    }
}

const BULLETS: &str = "the shaped corner is the polarity; + and - are moulded in";
const UNKEYED: &str = "two free plugs: check polarity, never leave both bare";
const MEMORY_MAKER: &str = "maker's sheet, from memory";
const DISPUTED: &str = "from memory; makers and sellers dispute 25 to 60 A, the lowest is taken";
const NO_FIGURE: &str = "no figure on record: go by the plug's own sheet";

#[rustfmt::skip]
const BUILT_IN: &[Row] = {
    use Purpose::{Balance, Charger, Discharge, Input};
    &[
        Row("xt30", "XT30", Discharge, 2, 15_000, 30_000, BULLETS, "maker's sheet, from memory; a seller's connector chart says the same"),
        Row("xt60", "XT60", Discharge, 2, 30_000, 60_000, BULLETS, "encyclopaedia entry for the XT60 type, citing the maker"),
        Row("xt90", "XT90", Discharge, 2, 40_000, 90_000, BULLETS, MEMORY_MAKER),
        Row("ec3", "EC3", Discharge, 2, 25_000, 40_000, "keyed housing", DISPUTED),
        Row("ec5", "EC5", Discharge, 2, 25_000, 40_000, "keyed housing", DISPUTED),
        Row("t-plug", "T-plug", Discharge, 2, 40_000, 0, "one blade turned by 90 degrees is the polarity", "from memory, 40 to 50 A; the lower is taken"),
        Row("jst-rcy", "JST-RCY", Discharge, 2, 3_000, 0, "pins can be crimped either way: check polarity", MEMORY_MAKER),
        Row("jst-ph", "JST-PH", Discharge, 2, 2_000, 0, "polarity differs between makers: check it", "general guide to the JST series, about 2 A"),
        Row("jst-xh", "JST-XH", Balance, 0, 3_000, 0, "keyed; pin 1 (black) is pack minus, the last (red) pack plus", "JST catalogue page, 2.5 mm header"),
        Row("bullet-4", "4 mm bullet", Charger, 2, 30_000, 0, UNKEYED, "common practice, no source"),
        Row("barrel-5.5-2.1", "barrel 5.5 × 2.1 mm", Input, 2, 0, 0, "usually plus inside: check the label", NO_FIGURE),
        Row("barrel-5.5-2.5", "barrel 5.5 × 2.5 mm", Input, 2, 0, 0, "usually plus inside: check the label", NO_FIGURE),
        Row("usb-c", "USB-C", Input, 0, 5_000, 0, "either way round; cables without a 5 A mark carry 3 A", "encyclopaedic entry on USB Power Delivery"),
        Row("iec-c8", "mains, two pins (IEC C8)", Input, 2, 2_500, 0, "mains", "IEC 60320, from memory"),
        Row("iec-c14", "mains, three pins (IEC C14)", Input, 3, 10_000, 0, "mains, earthed", "IEC 60320, from memory"),
    ]
};

#[cfg(test)]
mod tests {
    use super::*;

    fn family(code: &str) -> Family {
        built_in()
            .into_iter()
            .find(|family| family.code == code)
            .unwrap()
    }

    #[test]
    fn every_family_on_the_list_passes_its_own_check_and_names_a_source() {
        for family in built_in() {
            assert!(!family.source.is_empty());
            assert_eq!(family.clone().checked(), Ok(family));
        }
        let mut codes: Vec<String> = built_in().into_iter().map(|family| family.code).collect();
        codes.sort();
        codes.dedup();
        assert_eq!(codes.len(), built_in().len());
    }

    #[test]
    fn an_xt60_carries_thirty_amps_whatever_its_name_suggests() {
        assert_eq!(
            (family("xt60").rating_ma, family("xt60").peak_ma),
            (Some(30_000), Some(60_000))
        );
    }

    /// JST catalogue page, 2.5 mm header, and XH guide.
    #[test]
    fn a_balance_plug_has_a_pin_more_than_the_pack_has_cells() {
        let pins = [2, 3, 4, 6].map(|cells| family("jst-xh").pins_for(cells));
        assert_eq!(pins, [Some(3), Some(4), Some(5), Some(7)]);
        assert_eq!(family("xt60").pins_for(6), Some(2));
    }

    #[test]
    fn a_family_whose_peak_is_below_its_rating_is_refused() {
        let own = Family {
            peak_ma: Some(1_000),
            code: "own plug".into(),
            ..family("xt30")
        };
        let fields: Vec<_> = own
            .checked()
            .unwrap_err()
            .into_iter()
            .map(|problem| problem.field)
            .collect();
        assert_eq!(fields, ["code", "peak_ma"]);
    }

    #[test]
    fn a_family_is_shown_by_its_name_and_a_clubs_own_by_its_code() {
        assert_eq!((shown("xt60"), shown("hall-plug")), ("XT60", "hall-plug"));
    }

    #[test]
    fn purposes_are_found_by_their_codes() {
        for purpose in Purpose::ALL {
            assert_eq!(Purpose::from_code(purpose.code()), Some(purpose));
            assert_eq!(serde_json::to_value(purpose).unwrap(), purpose.code());
        }
    }
}
