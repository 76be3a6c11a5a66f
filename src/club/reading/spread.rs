//! How far the cells stand apart: what rest may still bring together, what a balance does, and what nothing does. mV.

use super::{Reading, Rested, rest_left};
use crate::battery::settling::unsettled_v;
use crate::battery::volts::volts_words;
use crate::club::limits::ClubLimits;
use crate::club::verdict::{Finding, Gravity, Rule};

/// A club that asks for a longer rest is stricter: what shows a spread after the shortest one counts already.
fn has_rested(rested: Rested) -> bool {
    rested.minutes() >= ClubLimits::default().rest_minutes
}

/// Cells farther apart come together by no balancing: common practice, no source. A club's own limits reach no higher.
pub const OUT_OF_SERVICE_MV: i64 = 200;

macro_rules! out_of_service {
    ($why:literal) => {
        concat!(
            $why,
            " it is out of service: it must not be charged or used. Retire it; or where its cells were put right, log its volts, rested, \
             and a quartermaster says on its page what was done."
        )
    };
}
const OUT_OF_SERVICE: &str = out_of_service!("So far apart");
const FAILED_AGAIN: &str = out_of_service!("Failing twice,");

/// Of a pack that stood out already and was charged since: what found its cells too far apart again says that it is out of service.
/// Common practice, no source.
pub fn failed_again(found: &mut [Finding]) {
    for wide in found
        .iter_mut()
        .filter(|each| each.rule == Rule::SpreadWide)
    {
        wide.rule = Rule::SpreadOut;
        wide.words = format!("{} It was charged since it last stood out.", wide.words);
        FAILED_AGAIN.clone_into(&mut wide.next);
    }
}

/// What the spread of volts that were read just used may still lose: one cell has settled, another is as far from it as any may
/// be. All rise after a load and fall after a charge, so that none goes up while another goes down.
fn unsettled_mv() -> i64 {
    (unsettled_v(0) * 1_000.0).round() as i64
}

/// Between the cells that are believed; needs two of them.
pub(super) fn spread(
    believed: &[&Reading],
    rested: Rested,
    limits: &ClubLimits,
) -> Option<Finding> {
    let high = believed.iter().max_by_key(|one| one.mv)?;
    let low = believed.iter().min_by_key(|one| one.mv)?;
    if believed.len() < 2 {
        return None;
    }
    let apart = high.mv.saturating_sub(low.mv);
    let has_rested = has_rested(rested);
    // Nor does rest bring together what stands farther apart than two cells can still move.
    let is_certain = apart > limits.spread_wide_mv.saturating_add(unsettled_mv());
    let counts_already = has_rested && apart > limits.spread_watch_mv || is_certain;
    if let Some(wait) = rest_left(rested, limits).filter(|_| !counts_already) {
        let words = "The spread between the cells is not judged on a pack that has not rested.";
        let next = format!("Log the cells again after {wait} minutes of rest.");
        return Some(Finding::new(
            Rule::SpreadNotJudged,
            Gravity::Note,
            words,
            &next,
        ));
    }

    let certain = if has_rested {
        apart
    } else {
        apart.saturating_sub(unsettled_mv())
    };
    let (rule, gravity, limit, next) = match apart {
        _ if certain > OUT_OF_SERVICE_MV => (
            Rule::SpreadOut,
            Gravity::ToMend,
            OUT_OF_SERVICE_MV,
            OUT_OF_SERVICE,
        ),
        _ if apart > limits.spread_wide_mv => (
            Rule::SpreadWide,
            Gravity::ToMend,
            limits.spread_wide_mv,
            "It gets no settings like that. Who knows the charger balances it at its lowest current and stays beside it; then let it rest and log the cells again.",
        ),
        _ if apart > limits.spread_watch_mv => (
            Rule::SpreadWatch,
            Gravity::Caution,
            limits.spread_watch_mv,
            "Balance it at the next charge.",
        ),
        _ => return None,
    };
    let (apart, limit) = (volts_words(apart), volts_words(limit));
    let explained = if has_rested {
        String::new()
    } else {
        let most = volts_words(unsettled_mv());
        format!(", of which lack of rest explains {most} V at most")
    };
    let words = format!(
        "{} and {} are {apart} V apart{explained}; the limit is {limit} V.",
        high.name,
        low.name.to_string().to_lowercase()
    );
    Some(Finding::new(rule, gravity, words, next))
}
