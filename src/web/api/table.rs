//! The one table of the API: address, who may, what it does, what carries it out. Addresses are those of the pages below
//! `/api/v1`, and who may is said as on the page. An operation without a rule can't be written down.

use super::compute::compute;
use super::operation::{Operation, look, send};
use super::picture::{picture, send_picture};
use super::{
    care, charge, charge_start, charges, club, condition, connectors, designs, hand_out, kit,
    kit_changes, labels, loans, log, night, packs, people, photos, places, readings, register,
    rounds, scan, season, take_back,
};
use crate::calc::{ChargePlan, ChargeTime, Soc, Verdict};
use crate::web::gate::Who::SignedIn;
use crate::web::routes::{EVERY_ROLE, ORGANISER, OVERSIGHT, POOL, READS};

pub fn table() -> Vec<Operation> {
    let mut all = vec![look(
        "/me",
        SignedIn,
        "Whom the token stands for",
        club::you,
    )];
    all.extend(of_packs());
    all.extend(of_loans());
    all.extend(of_kit());
    all.extend(of_the_club());
    all.extend(of_care());
    all.push(compute::<ChargePlan>(
        "/calc/charge-plan",
        SignedIn,
        "Which of the given chargers, supplies, cables and adapters charge a pack, and how",
    ));
    all.push(compute::<ChargeTime>(
        "/calc/charge-time",
        SignedIn,
        "How long a charge takes",
    ));
    all.push(compute::<Soc>(
        "/calc/soc",
        SignedIn,
        "How much charge a rested cell's volts tell",
    ));
    all.push(compute::<Verdict>(
        "/calc/verdict",
        SignedIn,
        "How a pack stands by its readings: state, reasons and what else they tell",
    ));
    all
}

#[rustfmt::skip]
fn of_packs() -> Vec<Operation> {
    vec![
        look("/packs", EVERY_ROLE, "Packs that suit", packs::list),
        send("/packs", POOL, "Register packs", register::register),
        look("/packs/registered", POOL, "Packs of a range of numbers", register::registered),
        look("/packs/{number}", EVERY_ROLE, "A pack and what stands against it", packs::show),
        look("/packs/{number}/history", EVERY_ROLE, "What was done with a pack", packs::history),
        send("/packs/{number}/details", POOL, "Change what is said of a pack", register::change_details),
        look("/packs/{number}/readings", EVERY_ROLE, "Readings of a pack", readings::list),
        send("/packs/{number}/volts", READS, "Log volts, correct them, or say why they could not be read", readings::log_volts),
        look("/packs/{number}/charge", EVERY_ROLE, "How a pack is charged now", charge::plans),
        send("/packs/{number}/charge", READS, "Start a charge as it was planned and read back", charge_start::start),
        look("/charges", EVERY_ROLE, "What charges now", charges::list),
        look("/charges/{id}", EVERY_ROLE, "A charge", charges::show),
        send("/charges/{id}/end", READS, "End a charge", charges::end),
        send("/charges/{id}/read-back", READS, "Say that the settings were read back after a power cut", charges::read_back),
        send("/charges/{id}/hand-over", READS, "Hand a charge that runs over: who stays with it from now on", charges::hand_over),
        send("/packs/{number}/condition", EVERY_ROLE, "Report what is seen on a pack", condition::report),
        send("/packs/{number}/mended", POOL, "Close what was to mend or to look at", condition::mended),
        send("/packs/{number}/release", OVERSIGHT, "Release a pack from quarantine", condition::release),
        send("/packs/{number}/way-out", POOL, "A pack leaves the pool, or is found again", condition::way_out),
        look("/packs/{number}/label", POOL, "The label of a pack", labels::show),
        send("/packs/{number}/label", POOL, "Make, reissue or revoke the label of a pack", labels::change),
        look("/labels", POOL, "Packs without a label", labels::list),
        look("/t/{code}", SignedIn, "What a scanned label tells", scan::show),
        look("/packs/{number}/photos", EVERY_ROLE, "Photos of a pack", photos::list),
        send_picture("/packs/{number}/photos", READS, "Add a photo of a pack", photos::add),
        picture("/packs/{number}/photos/{photo}", EVERY_ROLE, "A photo", photos::large),
        picture("/packs/{number}/photos/{photo}/small", EVERY_ROLE, "A photo, small", photos::small),
        send("/packs/{number}/photos/{photo}/remove", READS, "Remove a photo: one's own, or as a quartermaster", photos::remove),
        look("/designs", EVERY_ROLE, "All designs", designs::list),
        send("/designs", POOL, "Register a design", designs::add),
        look("/designs/{id}", OVERSIGHT, "A design", designs::show),
        send("/designs/{id}", POOL, "Change a design", designs::change),
    ]
}

#[rustfmt::skip]
fn of_loans() -> Vec<Operation> {
    vec![
        look("/hand-out", READS, "What lies here and can go out, and who may borrow", hand_out::at_hand),
        send("/hand-out", READS, "Hand out packs and kit, or borrow them", hand_out::hand_out),
        send("/take-back", POOL, "Take things back", take_back::take_back),
        look("/take-back/done", POOL, "What came of a take-back", take_back::done),
        look("/loans", OVERSIGHT, "What is out now", loans::out_now),
        look("/loans/{id}", EVERY_ROLE, "A loan", loans::show),
        send("/loans/{id}/extend", POOL, "Extend a loan", loans::extend),
        send("/lent/{id}/pass-on", POOL, "Pass a thing on to somebody else", loans::pass_on),
        send("/lent/{id}/lost", POOL, "A thing on a loan is lost", loans::lose),
        send("/lent/{id}/reopen", POOL, "Undo a take-back", loans::reopen),
        look("/mine", SignedIn, "What you have", loans::mine),
        send("/mine/{lent}/bring-back", SignedIn, "Bring something back alone", loans::bring_back),
        look("/mine/{lent}/brought-back", SignedIn, "What came of bringing it back", loans::brought_back),
        look("/night", OVERSIGHT, "The night that is open", night::show),
        send("/night", POOL, "Open a night", night::open),
        send("/night/close", POOL, "Close the night", night::close),
    ]
}

#[rustfmt::skip]
fn of_kit() -> Vec<Operation> {
    vec![
        look("/kit", EVERY_ROLE, "Kit that suits", kit::list),
        send("/kit/new", POOL, "Add a thing of kit", kit_changes::add),
        look("/kit/{id}", EVERY_ROLE, "A thing of kit", kit::show),
        look("/kit/{id}/history", EVERY_ROLE, "What was done with a thing of kit", kit::history),
        send("/kit/{id}/change", POOL, "Change a thing of kit", kit_changes::change),
        send("/kit/{id}/set-aside", EVERY_ROLE, "Set a thing of kit aside", kit_changes::set_aside),
        send("/kit/{id}/looked-over", POOL, "Say that what came back unchecked was looked over", kit_changes::look_over),
        send("/kit/{id}/mend", POOL, "Say that what was set aside is mended", kit_changes::mend),
        send("/kit/{id}/count", POOL, "Say how many adapters there are", kit_changes::count),
        send("/kit/{id}/way-out", POOL, "A thing of kit leaves the pool, or is found again", kit_changes::way_out),
        look("/connectors", EVERY_ROLE, "All connector families", connectors::list),
        send("/connectors/new", POOL, "Add a connector family", connectors::add),
        look("/connectors/{code}", OVERSIGHT, "A connector family of the club's own", connectors::show),
        send("/connectors/{code}", POOL, "Change a connector family of the club's own", connectors::change),
        send("/connectors/{code}/remove", POOL, "Remove a connector family of the club's own", connectors::remove),
        look("/places", OVERSIGHT, "All places", places::list),
        send("/places/new", POOL, "Add a place", places::add),
        look("/places/{id}", OVERSIGHT, "A place", places::show),
        send("/places/{id}", POOL, "Change a place", places::change),
        send("/places/{id}/close", POOL, "Close a place", places::close),
        send("/places/{id}/reopen", POOL, "Open a closed place again", places::reopen),
    ]
}

#[rustfmt::skip]
fn of_care() -> Vec<Operation> {
    vec![
        look("/to-see-to", OVERSIGHT, "What needs a person now, the most dangerous first", care::to_see_to),
        look("/events", OVERSIGHT, "Events, the latest on top", care::list),
        send("/events/new", OVERSIGHT, "Make an event", care::make),
        look("/events/{id}", OVERSIGHT, "An event", care::show),
        send("/events/{id}", OVERSIGHT, "Change an event and which packs are taken there", care::change),
        send("/events/{id}/end", OVERSIGHT, "End an event now", care::end),
        send("/events/{id}/call-off", OVERSIGHT, "Call off an event that has not begun", care::call_off),
        look("/storage-rounds", OVERSIGHT, "Storage rounds, open ones first", rounds::list),
        send("/storage-rounds/new", POOL, "Begin a storage round with what came back", rounds::begin),
        look("/storage-rounds/{id}", OVERSIGHT, "A storage round and how each of its packs stands", rounds::show),
        send("/storage-rounds/{id}/add", POOL, "Put more packs on a storage round", rounds::add),
        send("/storage-rounds/{id}/read", POOL, "Log the volts of a pack on a storage round", rounds::read),
        send("/storage-rounds/{id}/home", POOL, "Somebody takes an unfinished pack home", rounds::take_home),
        send("/packs/{number}/back", POOL, "A pack that somebody took home is back", rounds::is_back),
        send("/storage-rounds/{id}/close", POOL, "Close a storage round", rounds::close),
        look("/going-away", OVERSIGHT, "What must be done before the club closes for a while, in order", rounds::away),
        look("/season", OVERSIGHT, "A season of storage care, looked back on", season::show),
    ]
}

#[rustfmt::skip]
fn of_the_club() -> Vec<Operation> {
    vec![
        look("/people", OVERSIGHT, "People that suit", people::list),
        send("/people/new", POOL, "Add a guest or junior", people::add_guest),
        look("/people/{id}", OVERSIGHT, "A person", people::show),
        send("/people/{id}/induction", POOL, "Note an induction", people::note_induction),
        look("/log", ORGANISER, "The club's log", log::list),
        look("/log/check", OVERSIGHT, "Check the log", log::check),
        look("/stood", OVERSIGHT, "How it stood at an instant", log::as_it_stood),
    ]
}
