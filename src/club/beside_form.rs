//! What is typed beside the volts of a reading, and read: each field that can't be is named, and the others hold all the same,
//! since dangerous volts are stored whatever is wrong beside them.

use crate::battery::milliohms;
use crate::battery::pack::Build;
use crate::battery::resistance_read::MeterKind;
use crate::bench::form::{Fields, Problems};
use crate::bench::typed::{Unit, Words, amount_milli};
use crate::club::reading::beside::{
    Beside, CELSIUS, Charge, Context, MAH_MAX, METER_LETTERS, is_asked_about,
};
use crate::club::typed_numbers::whole_celsius;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BesideForm {
    pub resistance: String,
    pub meter: String,
    pub meter_kind: String,
    pub celsius: String,
    pub put_in_mah: String,
    pub taken_out_mah: String,
    pub context: String,
    /// More charge than the label lets one expect was asked about, and is so.
    pub is_charge_confirmed: bool,
}

const TOO_MUCH_CHARGE: &str = "That is more than any pack takes.";

impl BesideForm {
    pub fn of(fields: &Fields) -> Self {
        Self {
            put_in_mah: fields.text("put_in_mah"),
            taken_out_mah: fields.text("taken_out_mah"),
            is_charge_confirmed: fields.is_ticked("charge_confirmed"),
            ..Self::of_one_among(fields, "")
        }
    }

    /// Where many packs are read: each has its own resistance, under a name that ends in `suffix`; the rest is said once.
    pub fn of_one_among(fields: &Fields, suffix: &str) -> Self {
        Self {
            resistance: fields.text(&format!("resistance{suffix}")),
            meter: fields.text("meter"),
            meter_kind: fields.text("meter_kind"),
            celsius: fields.text("celsius"),
            context: fields.text("context"),
            ..Self::default()
        }
    }

    /// As it would be typed again.
    pub fn typed(beside: &Beside, numbers: Words) -> Self {
        let resistance = beside.resistance.as_ref();
        let resistance = resistance.map_or_else(String::new, |cells| cells.words());
        let (put_in, taken_out) = match beside.charge {
            Some(Charge::PutIn(mah)) => (mah.to_string(), String::new()),
            Some(Charge::TakenOut(mah)) => (String::new(), mah.to_string()),
            None => (String::new(), String::new()),
        };
        let context = beside.context.map_or("", Context::code);
        Self {
            resistance: numbers.sentence(&resistance),
            meter: beside.meter.clone().unwrap_or_default(),
            meter_kind: beside.meter_kind.map_or("", MeterKind::code).to_owned(),
            celsius: beside
                .celsius
                .map_or_else(String::new, |celsius| celsius.to_string()),
            put_in_mah: put_in,
            taken_out_mah: taken_out,
            context: context.to_owned(),
            // What is on record was asked about when it was typed.
            is_charge_confirmed: beside.charge.is_some(),
        }
    }

    pub fn is_empty(&self) -> bool {
        let unticked = Self {
            is_charge_confirmed: false,
            ..self.clone()
        };
        unticked == Self::default()
    }

    /// Whether to ask if so much charge is really meant.
    pub fn is_charge_asked(&self, build: &Build) -> bool {
        let typed = [&self.put_in_mah, &self.taken_out_mah];
        let mut read = typed.map(|text| mah(text).ok().flatten()).into_iter();
        read.any(|mah| mah.is_some_and(|mah| is_asked_about(mah, build.capacity_mah)))
    }

    /// What of it can be kept, and what must be put right.
    pub fn read(&self, build: &Build, numbers: Words) -> (Beside, Problems) {
        let mut problems = Problems::default();
        let resistance = said(&self.resistance)
            .map(|typed| milliohms::read_typed(typed, build.cells_series))
            .transpose();
        let meter = said(&self.meter).map(|meter| match meter.chars().count() {
            ..=METER_LETTERS => Ok(meter.to_owned()),
            _ => Err(format!("Keep it under {METER_LETTERS} letters.")),
        });
        let meter_kind = said(&self.meter_kind)
            .map(|code| MeterKind::from_code(code).ok_or("Choose one of the list."));
        let context = said(&self.context)
            .map(|code| Context::from_code(code).ok_or("Choose one of the list."));
        let beside = Beside {
            resistance: problems.keep("resistance", resistance).flatten(),
            meter: problems.keep("meter", meter.transpose()).flatten(),
            meter_kind: problems
                .keep("meter_kind", meter_kind.transpose())
                .flatten(),
            celsius: problems.keep("celsius", celsius(&self.celsius)).flatten(),
            charge: self.charge(build, &mut problems),
            context: problems.keep("context", context.transpose()).flatten(),
        };
        (beside, problems.worded(numbers))
    }

    fn charge(&self, build: &Build, problems: &mut Problems) -> Option<Charge> {
        let put_in = problems.keep("put_in_mah", self.expected("put_in_mah", build));
        let taken_out = problems.keep("taken_out_mah", self.expected("taken_out_mah", build));
        match (put_in.flatten(), taken_out.flatten()) {
            (Some(_), Some(_)) => {
                let words = "Say what was put in or what was taken out, and empty the other.";
                problems.add("taken_out_mah", words);
                None
            }
            (Some(mah), None) => Some(Charge::PutIn(mah)),
            (None, Some(mah)) => Some(Charge::TakenOut(mah)),
            (None, None) => None,
        }
    }

    /// As much as its label lets one expect, or asked about and confirmed.
    fn expected(&self, field: &str, build: &Build) -> Result<Option<i64>, String> {
        let typed = match field {
            "put_in_mah" => &self.put_in_mah,
            _ => &self.taken_out_mah,
        };
        let mah = mah(typed)?;
        let is_asked = |mah: &i64| is_asked_about(*mah, build.capacity_mah);
        match mah.filter(is_asked) {
            Some(much) if !self.is_charge_confirmed => Err(format!(
                "{much} mAh is more than three times the {} mAh of its label. If it is really so, tick that below and send it again.",
                build.capacity_mah
            )),
            _ => Ok(mah),
        }
    }
}

/// None: nothing typed.
fn said(text: &str) -> Option<&str> {
    Some(text).filter(|text| !text.is_empty())
}

fn mah(text: &str) -> Result<Option<i64>, String> {
    let Some(typed) = said(text) else {
        return Ok(None);
    };
    match amount_milli(typed, Unit::MilliampHours) {
        Err(problem) => Err(problem.to_string()),
        Ok(0) => Err("Give 1 mAh or more, or leave it empty.".to_owned()),
        Ok(mah) if mah > MAH_MAX => Err(TOO_MUCH_CHARGE.to_owned()),
        Ok(mah) => Ok(Some(mah)),
    }
}

fn celsius(text: &str) -> Result<Option<i64>, String> {
    let whole = whole_celsius(text)?;
    if whole.is_none_or(|celsius| CELSIUS.contains(&celsius)) {
        Ok(whole)
    } else {
        let (from, to) = (CELSIUS.start(), CELSIUS.end());
        Err(format!("A pack is read at {from} to {to} °C."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::chemistry::Chemistry;
    use crate::battery::limits::LabelVolts;
    use crate::battery::milliohms::Milliohms;

    const MILL_3S: Build = Build {
        chemistry: Chemistry::LiPo,
        cells_series: 3,
        groups_parallel: 1,
        capacity_mah: 2_200,
        sees_cells: true,
        label: LabelVolts {
            full_mv: None,
            lowest_mv: None,
        },
    };

    fn typed(pairs: &[(&str, &str)]) -> BesideForm {
        let pairs = pairs.iter();
        let pairs = pairs.map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
        BesideForm::of(&Fields::new(pairs.collect()))
    }

    #[test]
    fn all_that_is_typed_is_read_and_would_be_typed_again_as_it_is() {
        let form = typed(&[
            ("resistance", "5,1 4,9 12"),
            ("meter", "C-02"),
            ("meter_kind", "alternating"),
            ("celsius", "-3 °C"),
            ("put_in_mah", "1.2 Ah"),
            ("context", "after_charge"),
        ]);
        let (beside, problems) = form.read(&MILL_3S, Words::COMMA);
        assert!(problems.is_empty(), "{problems:?}");
        let wanted = Beside {
            resistance: Milliohms::of_cells(vec![51, 49, 120], 3),
            meter: Some("C-02".to_owned()),
            meter_kind: Some(MeterKind::Alternating),
            celsius: Some(-3),
            charge: Some(Charge::PutIn(1_200)),
            context: Some(Context::AfterCharge),
        };
        assert_eq!(beside, wanted);
        let again = BesideForm::typed(&beside, Words::COMMA);
        assert_eq!(again.resistance, "5,1 4,9 12,0");
        assert_eq!(again.read(&MILL_3S, Words::COMMA).0, wanted);
    }

    #[test]
    fn nothing_typed_is_nothing_said() {
        let (beside, problems) = typed(&[("meter", " ")]).read(&MILL_3S, Words::POINT);
        assert!(beside.is_empty() && problems.is_empty());
        assert!(typed(&[("charge_confirmed", "yes")]).is_empty());
        assert!(!typed(&[("celsius", "21")]).is_empty());
    }

    #[test]
    fn what_cannot_be_read_is_named_and_the_rest_holds() {
        for (field, text) in [
            ("resistance", "5.1 4.9"),
            ("celsius", "61"),
            ("celsius", "-21"),
            ("celsius", "21.5"),
            ("celsius", "warm"),
            ("put_in_mah", "0"),
            ("taken_out_mah", "much"),
            ("put_in_mah", "1000000"),
            ("context", "in the bath"),
            ("meter_kind", "by guess"),
        ] {
            let form = typed(&[("meter", "C-02"), (field, text)]);
            let (beside, problems) = form.read(&MILL_3S, Words::POINT);
            assert!(!problems.of(field).is_empty(), "{field} {text}");
            let only_meter = Beside {
                meter: Some("C-02".to_owned()),
                ..Beside::default()
            };
            assert_eq!(
                (beside, problems.list().len()),
                (only_meter, 1),
                "{field} {text}"
            );
        }
        let long = "m".repeat(METER_LETTERS + 1);
        let (_, problems) = typed(&[("meter", &long)]).read(&MILL_3S, Words::POINT);
        assert!(!problems.of("meter").is_empty());
    }

    #[test]
    fn more_charge_than_the_label_lets_expect_is_asked_about_and_then_taken() {
        let much = [("taken_out_mah", "6601")];
        let form = typed(&much);
        assert!(form.is_charge_asked(&MILL_3S));
        let (beside, problems) = form.read(&MILL_3S, Words::POINT);
        assert!(
            problems
                .of("taken_out_mah")
                .contains("three times the 2200 mAh")
        );
        assert_eq!(beside.charge, None);
        let (beside, problems) =
            typed(&[much[0], ("charge_confirmed", "yes")]).read(&MILL_3S, Words::POINT);
        assert!(problems.is_empty());
        assert_eq!(beside.charge, Some(Charge::TakenOut(6_601)));
        assert!(!typed(&[("taken_out_mah", "6600")]).is_charge_asked(&MILL_3S));
    }

    #[test]
    fn charge_goes_in_or_out_and_not_both() {
        let form = typed(&[("put_in_mah", "500"), ("taken_out_mah", "500")]);
        let (beside, problems) = form.read(&MILL_3S, Words::POINT);
        assert_eq!(beside.charge, None);
        assert!(problems.of("taken_out_mah").contains("empty the other"));
    }
}
