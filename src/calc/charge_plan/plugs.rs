//! The codes of connectors: the usual ones and the club's own. One that is only written otherwise is read as meant; one that
//! nobody knows is refused, since a plug of its own would fit nothing and bear no figure.

use super::kit::PlannedConnector;
use crate::bench::connector::{Family, Purpose, built_in};
use crate::calc::Wrong;

pub struct Plugs(Vec<Family>);

impl Plugs {
    pub fn of(own: &[PlannedConnector]) -> Result<Self, Wrong> {
        let mut all = Self(built_in());
        for (index, each) in own.iter().enumerate() {
            let at = format!("connectors[{index}]");
            if all.find(&each.code).is_some() {
                let words = "there is a connector of this code already";
                return Err(Wrong::with(&format!("{at}.code"), words));
            }
            let family = Family {
                code: each.code.clone(),
                name: each.name.clone(),
                purpose: Purpose::Discharge,
                pins: None,
                rating_ma: each.rating_ma,
                peak_ma: None,
                polarity: String::new(),
                source: String::new(),
            };
            all.0.push(family.checked().map_err(|found| {
                let first = found.into_iter().next();
                let (field, words) =
                    first.map_or(("", String::new()), |each| (each.field, each.words));
                Wrong::with(&format!("{at}.{field}"), words)
            })?);
        }
        Ok(all)
    }

    /// As it is spelled here.
    pub fn known(&self, field: &str, code: &str) -> Result<String, Wrong> {
        if let Some(family) = self.find(code) {
            return Ok(family.code.clone());
        }
        let codes: Vec<&str> = self.0.iter().map(|family| family.code.as_str()).collect();
        let words = format!(
            "there is no connector of this code; there are: {}. Another one is told in connectors",
            codes.join(", ")
        );
        Err(Wrong::with(field, words))
    }

    /// The same where it stands.
    pub fn spell(&self, field: &str, code: &mut String) -> Result<(), Wrong> {
        *code = self.known(field, code)?;
        Ok(())
    }

    pub fn families(self) -> Vec<Family> {
        self.0
    }

    fn find(&self, code: &str) -> Option<&Family> {
        let folded = folded(code);
        self.0
            .iter()
            .find(|family| folded == self::folded(&family.code))
    }
}

/// `XT-60` and `xt60` are one.
fn folded(code: &str) -> String {
    let plain = code.trim().chars().filter(|c| *c != '-');
    plain.flat_map(char::to_lowercase).collect()
}
