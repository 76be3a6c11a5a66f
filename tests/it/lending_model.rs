//! Random evenings against a plain model of lending kept in `pool`: after every step the same packs and kit are with the
//! same people, until the same day, in the same states, and what is refused is refused for the same reason. When they
//! part, the evening is cut down to the fewest steps that still part them and told with its seed. `program` acts in the
//! club; what once parted them is kept in `found`.

mod found;
mod program;

use crate::pool::{Act, Pool, evening};
use crate::support::*;
use program::{Evening, people_of};
use sandbucket::actions::By;
use std::collections::BTreeSet;
use std::time::Duration;

const SHARE: Duration = Duration::from_secs(20);
const FULL_COUNT: usize = 10_000;
const STEPS: usize = 30;

/// What must have happened in a thousand evenings, or the dice prove little: each act done, each refusal met.
const EVERYTHING: [&str; 108] = [
    "HandOut done",
    "HandOut OnLoan",
    "HandOut SetAside",
    "HandOut Quarantined",
    "HandOut NotKnown",
    "HandOut Retired",
    "HandOut Gone",
    "HandOut NoInduction",
    "HandOut NotYourself",
    "TakeBack done",
    "TakeBack NotOut",
    "TakeBack NotAQuartermaster",
    "BringBack done",
    "BringBack NotYours",
    "Extend done",
    "Extend NotOut",
    "Extend Past",
    "Extend TooFar",
    "Extend NotKnown",
    "PassOn done",
    "PassOn NotOut",
    "PassOn HasIt",
    "PassOn NoInduction",
    "PassOn SetAside",
    "Lose done",
    "Lose NotOut",
    "Leave done",
    "Leave NotLost",
    "Leave OnLoan",
    "Leave Gone",
    "Leave Lost",
    "Leave Dangerous",
    "Leave AlreadyRetired",
    "Leave NotAQuartermaster",
    "Report Gone",
    "HandOut KitSetAside",
    "HandOut KitUnchecked",
    "HandOut NotEnough",
    "HandOut NotActive",
    "PassOn NotActive",
    "Extend KitSetAside",
    "Extend KitInDoubt",
    "KitBack done",
    "KitBack NotOut",
    "KitBack NotSoMany",
    "KitBack NotSoManyToMend",
    "KitBack NotAQuartermaster",
    "KitHome done",
    "KitHome NotYours",
    "KitHome NotSoMany",
    "KitLookOver done",
    "KitLookOver Fields",
    "KitLookOver NotUnchecked",
    "KitLose done",
    "KitLose NotOut",
    "KitPassOn done",
    "KitPassOn NotOut",
    "KitPassOn HasIt",
    "KitPassOn KitSetAside",
    "KitPassOn KitInDoubt",
    "KitPassOn NoInduction",
    "KitAside done",
    "KitAside AlreadySetAside",
    "KitAside NoWay",
    "KitAside Fields",
    "KitMend done",
    "KitMend NotSetAside",
    "KitMend Fields",
    "KitCount done",
    "KitCount FewerThanThere",
    "KitCount NotCounted",
    "KitLeave done",
    "KitLeave NoWay",
    "KitLeave Out",
    "OpenNight done",
    "OpenNight End",
    "OpenNight OpenAlready",
    "OpenNight NotAQuartermaster",
    "CloseNight done",
    "CloseNight NotOpen",
    "Deactivate done",
    "Deactivate OpenLoans",
    "Deactivate Deactivated",
    "Reactivate done",
    "Reactivate Active",
    "Report done",
    "LogVolts done",
    "LogVolts Gone",
    "Mend done",
    "Mend NeedsReading",
    "Mend Quarantine",
    "Release done",
    "Release FinalDanger",
    "Release Reporter",
    "Release OnLoan",
    "Release NoReadingSince",
    "Release OutsideLimits",
    "Reopen done",
    "Reopen TooLate",
    "Reopen NotTakenBack",
    "Reopen NotHere",
    "Reopen NotActive",
    "KitReopen done",
    "KitReopen TooLate",
    "KitReopen NotTakenBack",
    "KitReopen NotHere",
    "KitReopen NotActive",
    "Later done",
];

/// Plays the acts on new packs; says where program and model part.
async fn play(
    club: &TestClub,
    people: &[By],
    acts: &[Act],
    met: &mut BTreeSet<String>,
) -> Result<(), String> {
    let evening = Evening::begin(club, people).await;
    let mut pool = Pool::new(evening.began);
    for (step, act) in acts.iter().enumerate() {
        let hours = pool.hour();
        let expected = pool.act(act);
        let got = evening.act(act).await;
        met.insert(format!("{} {got}", act.name()));
        if got != expected {
            return Err(format!(
                "step {step}, hour {hours}, {act:?}: the program said {got:?}, the model {expected:?}"
            ));
        }
        let (stand, should) = (evening.standings().await, pool.standings());
        if stand != should {
            return Err(format!(
                "after step {step}, hour {hours}, {act:?}: {stand:?}, and in the model {should:?}"
            ));
        }
    }
    Ok(())
}

/// Leaves out one act after the other as long as program and model still part.
async fn shrink(club: &TestClub, people: &[By], mut acts: Vec<Act>) -> (Vec<Act>, String) {
    let mut told = String::new();
    let mut at = 0;
    while at < acts.len() {
        let mut fewer = acts.clone();
        fewer.remove(at);
        match play(club, people, &fewer, &mut BTreeSet::new()).await {
            Err(words) => (acts, told) = (fewer, words),
            Ok(()) => at += 1,
        }
    }
    (acts, told)
}

on_both! {
    async fn random_evenings_end_as_a_plain_model_of_lending_says(club: TestClub) {
        let people = people_of(&club).await;
        let seed = seed();
        let mut met = BTreeSet::new();
        let mut rounds = Rounds::new("evenings of lending against the model", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let mut dice = Dice(seed.wrapping_add(rounds.done() as u64));
            let acts = evening(&mut dice, STEPS);
            if let Err(words) = play(&club, &people, &acts, &mut met).await {
                let (acts, shrunk) = shrink(&club, &people, acts).await;
                panic!("SANDBUCKET_TEST_SEED={seed}, evening {}: {words}\nfewest steps: {acts:#?}\n{shrunk}", rounds.done());
            }
        }
        assert_eq!(club.first_break().await, None);
        let missing: Vec<&&str> = EVERYTHING.iter().filter(|what| !met.contains(**what)).collect();
        assert!(rounds.done() < 1000 || missing.is_empty(), "seed {seed}: never happened: {missing:?}");
        let met = EVERYTHING.len() - missing.len();
        rounds.tell_with(&format!("{met} of {} kinds of outcome met", EVERYTHING.len()));
    }
}
