//! Checking a whole book: that each entry commits to the one before, that parts and files are those it commits to, and that
//! what was printed of its end still stands. The first break is told, by entry and how. A chain rewritten whole is found
//! only against a head that was printed; what was written after the last printed one can be rewritten unseen. A seal that
//! stands in the book, with another number or time than was typed beside it, is a mistype, and told as one: an entry commits to both.

use super::chain::{Head, Kept};
use super::digest::Digest;
use super::entry::Entry;
use super::erasure::{self, Erased};
use super::mistyped;
use super::part::{KeptPart, Part};
use std::collections::{BTreeMap, BTreeSet};

/// A book as it was found.
#[derive(Clone, Copy, Debug)]
pub struct Book<'a> {
    pub entries: &'a [Kept],
    pub parts: &'a [KeptPart],
    /// The digests of the files that are there, reckoned from their bytes; None: nobody looked.
    pub files: Option<&'a BTreeSet<Digest>>,
}

/// What the book is held against.
#[derive(Clone, Copy, Debug, Default)]
pub struct Against<'a> {
    /// Where the book must end: the head kept beside it.
    pub end: Option<&'a Head>,
    /// Heads that were printed, in any order. Number and digest count, and the second of the time unless it is 0: not known.
    pub printed: &'a [Head],
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Break {
    /// The first entry that is not as it must be; None: it hangs on no entry.
    pub entry: Option<i64>,
    pub how: How,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum How {
    #[error("its text can't be read as an entry: {0}")]
    Unreadable(String),
    #[error("number {found} stands in its place: an entry is missing, added or moved")]
    OutOfOrder { found: i64 },
    #[error("it does not name the digest of the entry before it: one of the two was changed")]
    NotLinked,
    #[error("its text was changed: it has another digest than the one kept with it")]
    Changed,
    #[error(
        "an entry that was printed as number {printed} is another now: it, or one since number {from}, was rewritten"
    )]
    Rewritten { from: i64, printed: i64 },
    #[error("the seal that was typed for it is that of entry {stands}: look at the number again")]
    AnotherNumber { stands: i64 },
    #[error(
        "it was printed with another time than it has; the digest is the same, so look at the time that was typed"
    )]
    AnotherTime,
    #[error("the book ends before it, but went on to number {reached}: its end was cut off")]
    CutOff { reached: i64 },
    #[error("the book goes on to here, but the head kept beside it says number {ends} is the last")]
    PastItsEnd { ends: i64 },
    #[error("its part “{0}” is missing, and no later entry says that it was erased")]
    PartMissing(String),
    #[error("its part “{0}” is not the one it commits to")]
    PartChanged(String),
    #[error("a part “{0}” is kept for it that it does not commit to")]
    PartAdded(String),
    #[error("its part “{0}” was erased and is there all the same")]
    PartThereAgain(String),
    #[error("its file {0} is missing or was changed, and no later entry says that it was erased")]
    FileMissing(Digest),
    #[error("its file {0} was erased and is there all the same")]
    FileThereAgain(Digest),
    #[error("the file {0} belongs to no entry")]
    FileAdded(Digest),
    #[error("it erases what no earlier entry has")]
    ErasesNothing,
    #[error("it is kept as number {kept}, so that what belongs to it is not found with it")]
    UnderAnotherNumber { kept: i64 },
    #[error("it is kept with {}, but its text is of {}", named(.kept), named(.says))]
    WithAnotherIncident { kept: String, says: String },
    #[error("the file {0} is kept with it, which it does not have, or under another digest")]
    FileNotIts(Digest),
    #[error("its file {sha256} is kept as {kept:?}, but its text says {says:?}")]
    FileOfAnotherKind {
        sha256: Digest,
        kept: String,
        says: String,
    },
    #[error(
        "how its action stands is kept otherwise than the entries say, or it sets none: what is due may be hidden, or shown as somebody else's"
    )]
    ActionOtherwise,
}

fn named(incident: &str) -> String {
    match incident {
        "" => "no incident".to_owned(),
        incident => format!("incident {incident}"),
    }
}

impl Break {
    /// The book holds; what was typed of its printed end can't have been printed so.
    pub const fn is_mistype(&self) -> bool {
        matches!(self.how, How::AnotherNumber { .. } | How::AnotherTime)
    }
}

impl std::fmt::Display for Break {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.entry {
            Some(seq) => write!(f, "Entry {seq}: {}.", self.how),
            None => write!(f, "Beside the entries: {}.", self.how),
        }
    }
}

/// The end that the book has, or its first break.
pub fn check(book: &Book<'_>, against: &Against<'_>) -> Result<Head, Break> {
    mistyped::told_last(book, against, check_typed)
}

fn check_typed(book: &Book<'_>, against: &Against<'_>) -> Result<Head, Break> {
    let mut reading = Reading::begin(book, against);
    for kept in book.entries {
        let seq = reading.last.count + 1;
        reading.next(kept).map_err(|how| Break {
            entry: Some(seq),
            how,
        })?;
    }
    reading.end()
}

/// The end that the entries of one incident have, or the first break. Other entries of the book lie between them: that none
/// of its own is missing or rewritten is seen only where a head of that number was printed, or in the whole book.
/// `against.end`: the head of the whole book.
pub fn check_extract(book: &Book<'_>, against: &Against<'_>) -> Result<Head, Break> {
    mistyped::told_last(book, against, check_extract_typed)
}

fn check_extract_typed(book: &Book<'_>, against: &Against<'_>) -> Result<Head, Break> {
    let mut reading = Reading::begin(book, against);
    reading.is_whole = false;
    for kept in book.entries {
        let seq = Entry::read(&kept.text).map_or(reading.last.count + 1, |entry| entry.seq);
        reading.next(kept).map_err(|how| Break {
            entry: Some(seq),
            how,
        })?;
    }
    reading.end()
}

/// Halfway through a book.
struct Reading<'a> {
    /// Every entry of the book is there.
    is_whole: bool,
    against: &'a Against<'a>,
    parts: BTreeMap<i64, Vec<&'a Part>>,
    files: Option<&'a BTreeSet<Digest>>,
    erased: BTreeSet<Erased>,
    /// Files that some entry still has.
    needed: BTreeSet<Digest>,
    last: Head,
    /// Up to this number a printed head agrees.
    agreed: i64,
    /// What the entries read so far commit to.
    known: BTreeSet<Erased>,
}

impl<'a> Reading<'a> {
    fn begin(book: &Book<'a>, against: &'a Against<'a>) -> Self {
        let mut parts: BTreeMap<i64, Vec<&Part>> = BTreeMap::new();
        for kept in book.parts {
            parts.entry(kept.seq).or_default().push(&kept.part);
        }
        let (erased, needed) = ahead(book.entries);
        Self {
            is_whole: true,
            against,
            parts,
            files: book.files,
            erased,
            needed,
            last: Head::EMPTY,
            agreed: 0,
            known: BTreeSet::new(),
        }
    }

    fn next(&mut self, kept: &Kept) -> Result<(), How> {
        let next = self.last.count + 1;
        let entry = Entry::read(&kept.text).map_err(|why| How::Unreadable(why.to_string()))?;
        let seq = entry.seq;
        if seq < next || (self.is_whole && seq > next) {
            return Err(How::OutOfOrder { found: seq });
        }
        if seq == next && entry.previous != self.last.hash {
            return Err(How::NotLinked);
        }
        let hash = Digest::of(kept.text.as_bytes());
        if hash.to_string() != kept.hash {
            return Err(How::Changed);
        }
        self.as_printed(&Head {
            count: seq,
            hash,
            at_ms: entry.at_ms,
        })?;
        self.parts_of(&entry)?;
        self.files_of(&entry)?;
        self.erasures_of(&entry)?;
        self.last = Head {
            count: seq,
            hash,
            at_ms: entry.at_ms,
        };
        Ok(())
    }

    fn as_printed(&mut self, found: &Head) -> Result<(), How> {
        let seq = found.count;
        for printed in self.against.printed.iter().filter(|head| head.count == seq) {
            if printed.hash != found.hash {
                let from = self.agreed + 1;
                return Err(How::Rewritten { from, printed: seq });
            }
            self.agreed = seq;
        }
        Ok(())
    }

    fn parts_of(&mut self, entry: &Entry) -> Result<(), How> {
        let mut there = self.parts.remove(&entry.seq).unwrap_or_default();
        for committed in &entry.committed {
            let name = committed.part.clone();
            let erased = Erased::Part {
                seq: entry.seq,
                name: name.clone(),
            };
            let is_erased = self.erased.contains(&erased);
            self.known.insert(erased);
            match there.iter().position(|part| part.name == name) {
                Some(_) if is_erased => return Err(How::PartThereAgain(name)),
                None if is_erased => {}
                None => return Err(How::PartMissing(name)),
                Some(at) if there[at].commitment() == *committed => {
                    there.swap_remove(at);
                }
                Some(_) => return Err(How::PartChanged(name)),
            }
        }
        // What is left over, a second one of the same name too.
        there
            .first()
            .map_or(Ok(()), |part| Err(How::PartAdded(part.name.clone())))
    }

    fn files_of(&mut self, entry: &Entry) -> Result<(), How> {
        for sha256 in entry.attached.iter().map(|file| file.sha256) {
            let erased = Erased::File {
                seq: entry.seq,
                sha256,
            };
            let is_erased = self.erased.contains(&erased);
            self.known.insert(erased);
            let Some(files) = self.files else { continue };
            match (files.contains(&sha256), is_erased) {
                (false, false) => return Err(How::FileMissing(sha256)),
                (true, true) if !self.needed.contains(&sha256) => {
                    return Err(How::FileThereAgain(sha256));
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn erasures_of(&self, entry: &Entry) -> Result<(), How> {
        let told = erasure::told_by(entry).unwrap_or_default();
        let is_known = |each: &Erased| each.seq() < entry.seq && self.known.contains(each);
        let all_known = !self.is_whole || told.iter().all(is_known);
        if entry.kind == erasure::KIND && (told.is_empty() || !all_known) {
            return Err(How::ErasesNothing);
        }
        Ok(())
    }

    /// Whether the book goes as far as it must, and no further.
    fn ends(&self) -> Result<(), Break> {
        let count = self.last.count;
        let of_entry = |seq, how| Break {
            entry: Some(seq),
            how,
        };
        let end = self.against.end;
        let goes_to = end
            .filter(|_| !self.is_whole)
            .map_or(count, |end| end.count.max(count));
        let heads = self.against.printed.iter().chain(end);
        let reached = heads.map(|head| head.count).max().unwrap_or(0);
        if reached > goes_to {
            return Err(of_entry(goes_to + 1, How::CutOff { reached }));
        }
        let Some(end) = end else { return Ok(()) };
        if end.count < count {
            let ends = end.count;
            return Err(of_entry(ends + 1, How::PastItsEnd { ends }));
        }
        if end.count == count && *end != self.last {
            let from = self.agreed + 1;
            let how = How::Rewritten {
                from,
                printed: count,
            };
            return Err(of_entry(count, how));
        }
        Ok(())
    }

    fn end(self) -> Result<Head, Break> {
        self.ends()?;
        let of_entry = |seq, how| Break {
            entry: Some(seq),
            how,
        };
        if let Some((seq, part)) = self
            .parts
            .iter()
            .find_map(|(seq, of)| Some((*seq, *of.first()?)))
        {
            return Err(of_entry(seq, How::PartAdded(part.name.clone())));
        }
        let attached = |sha256: &Digest| {
            let has =
                |each: &Erased| matches!(each, Erased::File { sha256: of, .. } if of == sha256);
            self.known.iter().any(has)
        };
        match self
            .files
            .into_iter()
            .flatten()
            .find(|file| !attached(file))
        {
            Some(file) => Err(Break {
                entry: None,
                how: How::FileAdded(*file),
            }),
            None => Ok(self.last),
        }
    }
}

/// What entries say is erased, and which files are needed for all that. Entries that can't be read, or erase what is not
/// theirs to erase, are told in their turn.
fn ahead(entries: &[Kept]) -> (BTreeSet<Erased>, BTreeSet<Digest>) {
    let read: Vec<Entry> = entries
        .iter()
        .filter_map(|kept| Entry::read(&kept.text).ok())
        .collect();
    let erased: BTreeSet<Erased> = read
        .iter()
        .flat_map(|entry| erasure::told_by(entry).unwrap_or_default())
        .collect();
    let files = read.iter().flat_map(|entry| {
        let seq = entry.seq;
        entry.attached.iter().map(move |file| (seq, file.sha256))
    });
    let needed = files
        .filter(|(seq, sha256)| {
            let (seq, sha256) = (*seq, *sha256);
            !erased.contains(&Erased::File { seq, sha256 })
        })
        .map(|(_, sha256)| sha256)
        .collect();
    (erased, needed)
}
