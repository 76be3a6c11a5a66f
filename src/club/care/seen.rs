//! What pages show of a pack's storage: where it stands to its band and for how long, what it is believed to hold, when it falls to its
//! minimum, and what the days above its band have cost so far. Told, and asked by no rule.

use super::belief::Belief;
use super::cost::{Cost, added, cost};
use super::due::OnRecord;
use super::enforced::past_limit_since;
use super::forecast::Forecast;
use super::kept::{Band, Kept};
use super::lain::lain;
use super::rules::CareRules;
use super::story::{Lying, Story};
use super::told::Told;
use super::walked::Walked;
use crate::club::calendar::Instant;
use crate::club::states::State;

#[derive(Clone, Debug)]
pub struct Seen {
    /// None: nothing tells, or it was out and nobody read it since.
    pub band: Option<Band>,
    /// Days above the band.
    pub above_days: Option<i64>,
    pub is_past_limit: bool,
    pub belief: Option<Belief>,
    /// The belief tells something, and nothing stands against the pack that makes it worth nothing.
    pub is_known: bool,
    /// Of what is known alone.
    pub forecast: Forecast,
    pub cost: Option<Cost>,
}

/// `before`: what is kept as of just before its latest reading.
pub fn seen(pack: &OnRecord, before: &Walked, rules: &CareRules, now: Instant) -> Seen {
    let (lying, story) = (&pack.lying, &pack.story);
    let above_since = pack.kept.above_since;
    let days = added(before.lain.clone(), lain(before.kept, lying, story, now));
    let belief = Belief::of(lying, story, now);
    let is_held = matches!(pack.state, State::NotKnown | State::Quarantine);
    let is_known = !is_held && belief.is_some_and(|belief| belief.tells());
    Seen {
        band: band_now(pack),
        above_days: above_since.map(|since| now.days_since(since)),
        is_past_limit: past_limit_since(pack, rules, now).is_some(),
        belief,
        is_known,
        forecast: if is_known {
            Forecast::of(lying, story)
        } else {
            Forecast::CannotTell
        },
        cost: cost(lying.build.chemistry, &days),
    }
}

/// Where it stands to its band. None: nothing tells, or it was out and nobody read it since.
pub fn band_now(pack: &OnRecord) -> Option<Band> {
    band_of(&pack.lying, &pack.story, pack.kept)
}

/// Since when it is in its band, by what was told last; None: it is not, or nobody knows.
pub fn in_band_since(pack: &OnRecord) -> Option<Instant> {
    let is_in = band_now(pack) == Some(Band::In);
    Told::of(&pack.lying, &pack.story)
        .filter(|_| is_in)
        .map(|told| told.at)
}

/// `kept` as of all of the story.
pub(super) fn band_of(lying: &Lying, story: &Story, kept: Kept) -> Option<Band> {
    let told = Told::of(lying, story).filter(|told| !told.is_out_since);
    let above = kept.above_since.map(|_| Band::Above);
    above.or_else(|| told.map(|told| Band::of(lying, &told)))
}

impl Band {
    pub const ALL: [Self; 3] = [Self::Under, Self::In, Self::Above];

    /// The word that programs read; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Under => "under",
            Self::In => "in",
            Self::Above => "above",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Under => "Under its band",
            Self::In => "In its band",
            Self::Above => "Above its band",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::chemistry::Chemistry;
    use crate::club::care::scenes_tests::*;
    use crate::club::care::story::What;

    fn told(story: Story) -> Seen {
        let before = Walked::default();
        seen(&lipo(story), &before, &CareRules::default(), now())
    }

    #[test]
    fn a_pack_is_seen_where_it_was_read_until_it_was_out() {
        assert_eq!(told(read(2, 3_820)).band, Some(Band::In));
        assert_eq!(told(read(2, 3_600)).band, Some(Band::Under));
        let full = told(read(9, 4_180));
        assert_eq!((full.band, full.above_days), (Some(Band::Above), Some(9)));
        assert!(full.is_past_limit && !told(read(2, 4_180)).is_past_limit);
        assert_eq!(told(read(2, 3_820).then(1, What::Lent)).band, None);
        let out = told(read(2, 4_180).then(1, What::Lent));
        assert_eq!(
            out.band,
            Some(Band::Above),
            "nothing else ends it than volts"
        );
        assert_eq!(told(Story::default()).band, None);
    }

    #[test]
    fn what_is_not_known_has_no_forecast() {
        let falls = |seen: &Seen| matches!(seen.forecast, Forecast::Falls(_));
        let read_well = told(read(2, 3_820));
        assert!(read_well.is_known && falls(&read_well));
        let out = told(read(2, 3_820).then(1, What::Lent));
        assert!(!out.is_known && !falls(&out), "anything from empty to full");
        assert!(!told(Story::default()).is_known);
        for state in [State::Quarantine, State::NotKnown] {
            let held = OnRecord {
                state,
                ..lipo(read(2, 3_820))
            };
            let seen = seen(&held, &Walked::default(), &CareRules::default(), now());
            assert!(!seen.is_known && !falls(&seen), "{state:?}");
        }
    }

    #[test]
    fn what_the_days_have_cost_is_added_to_what_earlier_ones_did() {
        let days = |seen: &Seen| seen.cost.map(|cost| cost.days.round() as i64);
        assert_eq!(days(&told(read(9, 4_180))), Some(9));
        assert_eq!(days(&told(read(9, 3_820))), None);
        let lying = lying(Chemistry::LiPo);
        let first = read(29, 4_180);
        let again = read(9, 4_180);
        let latest = again.read.clone().expect("a reading");
        let before = Walked::default().on_to(&lying, &first, &latest);
        assert_eq!(before.kept, Kept::default().after(&lying, &first));
        let both = seen(&lipo(again), &before, &CareRules::default(), now());
        assert_eq!(days(&both), Some(29));
    }
}
