//! How the book is filed: under which number and with which incident each entry is kept, with which entry and as what each file, and what
//! is kept beside it of actions. Pages find by these what they show, and no digest covers them: each is held against what the
//! entries say. That the entries themselves hold is `check`. Who was found to be named in a part can't be reckoned again: it
//! hangs on what people were called as it was written.

use super::chain::{Kept, Sealed};
use super::check::{Break, How};
use super::digest::Digest;
use super::entry::Entry;
use super::erasure::{self, Erased};
use super::story::Story;
use crate::club::calendar::{Day, Instant, Zone};
use std::collections::{BTreeMap, BTreeSet};

/// Where an entry is kept. `incident`: empty where it is of none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    pub seq: i64,
    pub incident: String,
}

/// A file as it is kept: with which entry, under which digest and as what, and the digest of its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    pub seq: i64,
    pub sha256: String,
    pub kind: String,
    pub digest: Digest,
}

/// How an action stands, as it is kept. `owner_seq`: of the entry that says who sees to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Action {
    pub seq: i64,
    pub incident: String,
    pub stands: String,
    pub by_on: String,
    pub owner_seq: i64,
}

#[derive(Clone, Copy, Debug)]
pub struct Filed<'a> {
    pub entries: &'a [Kept],
    /// Of each of `entries`, in their order.
    pub places: &'a [Place],
    pub files: &'a [File],
    pub actions: &'a [Action],
}

/// The first that is filed otherwise than the entries say. Entries that can't be read are told by `check`.
pub fn first_break(filed: &Filed<'_>) -> Option<Break> {
    let read: Vec<(&Place, Sealed)> = filed
        .places
        .iter()
        .zip(filed.entries)
        .filter_map(|(place, kept)| {
            let entry = Entry::read(&kept.text).ok()?;
            let hash = Digest::of(kept.text.as_bytes());
            Some((place, Sealed { entry, hash }))
        })
        .collect();
    let all: Vec<&Sealed> = read.iter().map(|(_, sealed)| sealed).collect();
    let mut breaks: Vec<Break> = read
        .iter()
        .filter_map(|(place, sealed)| {
            let how = misplaced(place, &sealed.entry)?;
            Some(of_entry(sealed.entry.seq, how))
        })
        .collect();
    breaks.extend(of_files(&all, filed.files));
    breaks.extend(of_actions(&all, filed.actions));
    breaks.into_iter().min_by_key(|each| each.entry)
}

const fn of_entry(seq: i64, how: How) -> Break {
    Break {
        entry: Some(seq),
        how,
    }
}

/// What an erasure is of may be several incidents: it is kept with none, and so it says.
fn incident_of(entry: &Entry) -> &str {
    entry.body["incident"].as_str().unwrap_or_default()
}

fn misplaced(place: &Place, entry: &Entry) -> Option<How> {
    let says = incident_of(entry);
    if place.seq != entry.seq {
        Some(How::UnderAnotherNumber { kept: place.seq })
    } else if place.incident != says {
        Some(How::WithAnotherIncident {
            kept: place.incident.clone(),
            says: says.to_owned(),
        })
    } else {
        None
    }
}

/// Each entry has the files that it says, less those that were erased from it, and no other.
fn of_files(all: &[&Sealed], kept: &[File]) -> Vec<Break> {
    let mut attached: BTreeMap<(i64, Digest), &str> = BTreeMap::new();
    let mut erased: BTreeSet<(i64, Digest)> = BTreeSet::new();
    for entry in all.iter().map(|sealed| &sealed.entry) {
        let files = entry.attached.iter();
        attached.extend(files.map(|file| ((entry.seq, file.sha256), file.name.as_str())));
        for each in erasure::told_by(entry).unwrap_or_default() {
            if let Erased::File { seq, sha256 } = each {
                erased.insert((seq, sha256));
            }
        }
    }
    let (mut breaks, mut there) = (Vec::new(), BTreeSet::new());
    for file in kept {
        let at = (file.seq, file.digest);
        let is_under_its_own = file.sha256 == file.digest.to_string();
        let how = match attached.get(&at) {
            Some(_) if erased.contains(&at) => How::FileThereAgain(file.digest),
            Some(name) if is_under_its_own => {
                there.insert(at);
                if *name == file.kind {
                    continue;
                }
                How::FileOfAnotherKind {
                    sha256: file.digest,
                    kept: file.kind.clone(),
                    says: (*name).to_owned(),
                }
            }
            _ => How::FileNotIts(file.digest),
        };
        breaks.push(of_entry(file.seq, how));
    }
    let missing = attached
        .keys()
        .filter(|at| !there.contains(*at) && !erased.contains(*at));
    breaks.extend(missing.map(|(seq, sha256)| of_entry(*seq, How::FileMissing(*sha256))));
    breaks
}

/// How actions stand is kept so that what is due is found by its day: it must be what the entries of their incident come to.
fn of_actions(all: &[&Sealed], kept: &[Action]) -> Vec<Break> {
    let mut incidents: BTreeMap<&str, Vec<&Sealed>> = BTreeMap::new();
    for sealed in all {
        let incident = incident_of(&sealed.entry);
        incidents.entry(incident).or_default().push(sealed);
    }
    let (mut breaks, mut known) = (Vec::new(), BTreeSet::new());
    for (incident, entries) in incidents {
        let story = Story::of(entries.iter().copied());
        let written: Vec<Instant> = entries.iter().map(|sealed| sealed.entry.at()).collect();
        for seq in story.actions.keys() {
            known.insert(*seq);
            let is_so = |one: &Action| {
                one.seq == *seq && one.incident == incident && stands_so(one, &story, &written)
            };
            if !kept.iter().any(is_so) {
                breaks.push(of_entry(*seq, How::ActionOtherwise));
            }
        }
    }
    let others = kept.iter().filter(|one| !known.contains(&one.seq));
    breaks.extend(others.map(|one| of_entry(one.seq, How::ActionOtherwise)));
    breaks
}

fn stands_so(kept: &Action, story: &Story, written: &[Instant]) -> bool {
    let (Some(stands), Some(action)) = (story.stands(kept.seq), story.actions.get(&kept.seq))
    else {
        return false;
    };
    let is_its_day = match action.by(stands) {
        Some(day) => kept.by_on == day.to_string(),
        None => Day::parse(&kept.by_on).is_some_and(|day| is_day_of_one(day, written)),
    };
    is_its_day && kept.stands == stands.code() && kept.owner_seq == story.owner_said_by(kept.seq)
}

/// Where an action has no day, that of the entry which changed it is kept, by the hall's zone as it was then: no zone is further than a
/// day from UTC.
fn is_day_of_one(day: Day, written: &[Instant]) -> bool {
    let utc = Zone::utc();
    let is_near = |at: &Instant| utc.day_of(*at).days_until(day).abs() <= 1;
    written.iter().any(is_near)
}
