//! That a pack charges, as every page says it that shows the pack: on what, since when, until when about, who stays with it; or that
//! it is to be stopped.
//! Who that is, a member reads of themselves alone.

use crate::club::states::State;
use crate::store::charges::now::{Now, NowRow};
use crate::store::loans::Out;
use crate::web::visit::SignedIn;
use crate::web::words::{When, clock, past};
use uuid::Uuid;

pub struct ChargingNow {
    pub id: Uuid,
    /// `It charges now`
    pub what: &'static str,
    /// `C-02, output 2`
    pub on: String,
    pub since: When,
    /// When it is done at the latest.
    pub until: When,
    pub is_over: bool,
    /// The pack turned bad meanwhile, or its charger was set aside: nobody waits until it is done.
    pub is_to_stop: bool,
    pub watched: String,
}

impl ChargingNow {
    /// `state`: of the pack. None: nothing works on it.
    pub fn of(row: &NowRow, state: State, who: &SignedIn) -> Option<Self> {
        let now = row.charge()?;
        let is_bad = !state.shows_settings();
        Some(Self {
            id: now.id,
            what: match (is_bad, now.is_charger_aside, now.is_charge) {
                (true, ..) => "Stop its charger, this pack is not fit any more: it is",
                (false, true, _) => "Stop it, its charger was set aside: it is",
                (false, false, true) => "It charges now",
                (false, false, false) => "It is being discharged now",
            },
            on: on(&now.charger_number, now.output, now.has_outputs),
            since: past(now.started, who.now, &who.zone),
            until: clock(now.until, who.now, &who.zone),
            is_over: now.until < who.now,
            is_to_stop: is_bad || now.is_charger_aside,
            watched: watched((now.watched_by, now.watched_name.as_deref()), who),
        })
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
