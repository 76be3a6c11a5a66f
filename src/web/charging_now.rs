//! That a pack charges, as every page says it that shows the pack: on what, since when, until when about, who stays with it; or that
//! it is to be stopped.
//! Who that is, a member reads of themselves alone.

use crate::club::charging::must_stop;
use crate::club::states::State;
use crate::store::charges::now::{Now, NowRow};
use crate::store::loans::Out;
use crate::web::visit::SignedIn;
use crate::web::words::{When, clock, past};
use uuid::Uuid;

pub struct ChargingNow {
    pub id: Uuid,
    /// `It charges now`
    pub what: String,
    /// `C-02, output 2`
    pub on: String,
    pub since: When,
    /// When it is done at the latest.
    pub until: When,
    pub is_over: bool,
    /// The pack turned bad meanwhile, or what charges it was set aside: nobody waits until it is done.
    pub is_to_stop: bool,
    /// `its charger was set aside`; empty: nothing of its kit was.
    pub aside: String,
    pub watched: String,
}

impl ChargingNow {
    /// `state`: of the pack. None: nothing works on it.
    pub fn of(row: &NowRow, state: State, who: &SignedIn) -> Option<Self> {
        let now = row.charge()?;
        let aside = aside_words(&now);
        Some(Self {
            id: now.id,
            what: match (state.shows_settings(), now.is_charge) {
                (false, _) => "Stop its charger, this pack is not fit any more: it is".to_owned(),
                (true, _) if !aside.is_empty() => format!("Stop it, {aside}: it is"),
                (true, true) => "It charges now".to_owned(),
                (true, false) => "It is being discharged now".to_owned(),
            },
            on: on(&now.charger_number, now.output, now.has_outputs),
            since: past(now.started, who.now, &who.zone),
            until: clock(now.until, who.now, &who.zone),
            is_over: now.until < who.now,
            is_to_stop: must_stop(state, !now.set_aside.is_empty()),
            aside,
            watched: watched((now.watched_by, now.watched_name.as_deref()), who),
        })
    }
}

/// `its charger was set aside`, `C-01 and S-01 were set aside`; empty: nothing of its kit was.
fn aside_words(now: &Now) -> String {
    match now.set_aside.as_slice() {
        [] => String::new(),
        [one] if *one == now.charger_number => "its charger was set aside".to_owned(),
        [one] => format!("{one} was set aside"),
        all => format!("{} were set aside", all.join(" and ")),
    }
}

/// Of a thing that is out.
pub fn of_out(out: &Out, who: &SignedIn) -> Option<ChargingNow> {
    let state = out.state.as_deref().and_then(State::from_code);
    ChargingNow::of(&out.now, state.unwrap_or(State::NotKnown), who)
}

/// `C-02, output 2`; one of a charger's outputs is said where it has more.
pub fn on(charger: &str, output: i64, has_outputs: i64) -> String {
    if has_outputs > 1 {
        format!("{charger}, output {}", output + 1)
    } else {
        charger.to_owned()
    }
}

/// Who stays with it, for those who may know and for oneself.
pub fn watched((id, name): (Uuid, Option<&str>), who: &SignedIn) -> String {
    if id == who.me.person_id {
        return "you".to_owned();
    }
    match name {
        Some(name) if who.me.roles().may_see_holders() => name.to_owned(),
        _ => "somebody of the club".to_owned(),
    }
}

/// For those who may know and for oneself.
pub fn may_know(now: &Now, who: &SignedIn) -> bool {
    now.watched_by == who.me.person_id || who.me.roles().may_see_holders()
}
