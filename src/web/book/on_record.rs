//! What was frozen into an entry of the book, in sentences: one for each thing on record.

use super::line::{Time, part};
use crate::battery::volts::{self, Volts};
use crate::bench::kit::KitKind;
use crate::club::book::chain::Sealed;
use crate::club::book::frozen::{Charged, KnownKit, KnownPack, Said};
use crate::club::book::part::KeptPart;
use crate::club::calendar::Instant;
use crate::club::states::{Life, State};
use crate::web::visit::SignedIn;

/// What was on record of a pack.
pub struct Frozen {
    pub number: String,
    pub told: Vec<String>,
}

/// What was on record of its packs as it was written.
pub fn frozen(sealed: &Sealed, parts: &[KeptPart], who: &SignedIn, time: Time) -> Vec<Frozen> {
    let words = |said: &Said| match said {
        Said::Here(words) => words.clone(),
        Said::Apart { part: name } => part(parts, sealed.entry.seq, name)
            .unwrap_or("(erased)")
            .to_owned(),
    };
    let frozen = &sealed.entry.body["frozen"];
    let packs: Vec<KnownPack> = serde_json::from_value(frozen["packs"].clone()).unwrap_or_default();
    let kit: Vec<KnownKit> = serde_json::from_value(frozen["kit"].clone()).unwrap_or_default();
    let packs = packs.into_iter().map(|pack| Frozen {
        told: on_record(&pack, &words, who, time),
        number: pack.number,
    });
    let kit = kit.into_iter().map(|kit| Frozen {
        told: kit_on_record(&kit, &words, who),
        number: kit.number,
    });
    packs.chain(kit).collect()
}

fn kit_on_record(kit: &KnownKit, words: &dyn Fn(&Said) -> String, who: &SignedIn) -> Vec<String> {
    let kind = KitKind::from_code(&kit.kind).map_or("of another kind", KitKind::label);
    let life = match Life::from_code(&kit.life) {
        Some(life) => life.label(),
        None => &kit.life,
    };
    let called = [&kit.name, &kit.maker].map(words);
    let called = called.iter().filter(|words| !words.is_empty());
    let called: String = called.map(|words| format!(", {words}")).collect();
    let mut told = vec![format!("Kit: {kind}{called}. {life}."), words(&kit.what)];
    let place = kit.place.iter();
    told.extend(place.map(|place| format!("Its place: {}.", words(place))));
    if kit.out > 0 {
        told.push("On loan.".to_owned());
    }
    if kit.aside > 0 {
        told.push(format!("Set aside: {}", words(&kit.set_aside)));
    }
    if kit.unchecked > 0 {
        told.push("Back, and not looked over.".to_owned());
    }
    told.retain(|words| !words.is_empty());
    let numbers = who.numbers();
    told.iter().map(|words| numbers.sentence(words)).collect()
}

/// One sentence for each thing on record.
fn on_record(
    pack: &KnownPack,
    words: &dyn Fn(&Said) -> String,
    who: &SignedIn,
    time: Time,
) -> Vec<String> {
    let at = |ms: i64| time(Instant(ms));
    let state = |code: &str| {
        State::from_code(code).map_or_else(|| code.to_owned(), |state| state.label().to_owned())
    };
    let numbers = who.numbers();
    let mut told = vec![format!(
        "{}: {}. {}",
        words(&pack.design),
        state(&pack.state),
        words(&pack.why)
    )];
    told.extend(
        pack.place
            .iter()
            .map(|place| format!("Its place: {}.", words(place))),
    );
    if pack.is_lent {
        told.push("It was on loan.".to_owned());
    }
    told.extend(pack.against_it.iter().map(words));
    told.extend(pack.charges.iter().map(|one| charged(one, who, time)));
    told.extend(pack.cards.iter().map(|one| {
        let last = if one.last_ms == one.first_ms {
            String::new()
        } else {
            format!(", last {}", at(one.last_ms))
        };
        format!("A card was shown {}{last}, {}.", at(one.first_ms), one.said)
    }));
    told.extend(pack.loans.iter().map(|one| match one.until_ms {
        Some(until) => format!("Lent {} until {}.", at(one.from_ms), at(until)),
        None => format!("Lent since {}.", at(one.from_ms)),
    }));
    told.extend(pack.readings.iter().filter_map(|one| {
        let volts = Volts::from_text(one.volts.as_deref()?)?;
        Some(format!(
            "Read {}: {}.",
            at(one.taken_ms),
            volts::words(&volts)
        ))
    }));
    told.extend(pack.stood.iter().map(|one| {
        format!(
            "{}: {}, then {}.",
            at(one.at_ms),
            one.verb,
            state(&one.state).to_lowercase()
        )
    }));
    if !pack.more.is_empty() {
        let more = pack.more.join(", ");
        told.push(format!("More lies on record than is kept here: {more}."));
    }
    told.iter().map(|words| numbers.sentence(words)).collect()
}

fn charged(one: &Charged, who: &SignedIn, time: Time) -> String {
    let at = |ms: i64| time(Instant(ms));
    let ended = one.ended_ms.map_or_else(
        || ", not ended".to_owned(),
        |ms| format!(", ended {}", at(ms)),
    );
    format!(
        "Charged {}{ended}. {}.",
        at(one.started_ms),
        one.words(who.numbers())
    )
}
