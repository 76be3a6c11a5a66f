//! Why a charger can't be set low enough for a pack. mA.

use super::asked::Purpose;
use super::best::Weighing;
use super::chains::Link;
use super::current::{Haste, Limit, fed_ma};
use super::feed::Fed;
use super::ready::Ready;
use super::stops::Way;
use super::told::limit_words;
use crate::bench::typed::Words;

/// On a charger or a resistor at a tenth of C (a battery vendor's disposal guide).
const BY_RESISTOR: &str = "A resistor that draws no more than 0.1C empties it too, if it is undamaged: stay and watch it.";

impl Weighing<'_> {
    /// Why it can't be set low enough, by what holds the current back most where feed and chain hold it back least.
    pub(super) fn too_much(&self, ready: &Ready) -> String {
        let words = Words::POINT;
        let is_up = matches!(self.way, Way::Up { .. });
        let fed = |feed: &Fed| {
            fed_ma(feed, self.full_mv)
                .filter(|_| is_up)
                .unwrap_or(i64::MAX)
        };
        let through_feed = ready.feeds.iter().map(fed).max().unwrap_or(0);
        let through_link = ready
            .links
            .iter()
            .map(|link| link.rating_ma)
            .max()
            .unwrap_or(0);
        let lowest = words.amps(ready.charger.sheet.current_min_ma);
        let least_of = |feed: &Fed, link: &Link| {
            let bounds = self.bounds(ready, feed, &link.chain(self.hand), Haste::Usual);
            bounds.into_iter().min_by_key(|(ma, _)| *ma)
        };
        let widest = |at_least: i64| {
            let feed = ready
                .feeds
                .iter()
                .rev()
                .find(|feed| fed(feed) >= at_least)?;
            let mut links = ready.links.iter().rev();
            let link = links.find(|link| link.rating_ma >= at_least)?;
            least_of(feed, link)
        };
        let most = widest(through_feed.min(through_link));
        let verb = if is_up { "charges" } else { "discharges" };
        let why = match most.and_then(|(ma, _)| widest(ma)) {
            Some((ma, limit)) => format!(
                "It {verb} with no less than {lowest}; {} {} {}.",
                limit_words(&limit),
                match limit {
                    Limit::ChargerWatts | Limit::DischargeWatts => "allow",
                    _ => "allows",
                },
                words.amps(ma)
            ),
            None => format!("It {verb} with no less than {lowest}."),
        };
        if self.asked.purpose == Purpose::Empty {
            format!("{why} {BY_RESISTOR}")
        } else {
            why
        }
    }
}
