//! Books made by chance, with people, photos, actions and erasures, and every way to tamper with what is given away of one. How it is
//! filed otherwise in the database is `refiled`.

use crate::support::Dice;
use sandbucket::club::book::chain::{Draft, Head, Kept, write};
use sandbucket::club::book::digest::Digest;
use sandbucket::club::book::entry::{Attached, Entry};
use sandbucket::club::book::erasure::{self, Erased};
use sandbucket::club::book::export::Export;
use sandbucket::club::book::filed::Action;
use sandbucket::club::book::part::{KeptPart, Part};
use sandbucket::club::calendar::{Instant, Zone};
use sandbucket::paper::bundle::{self, BookFile};
use serde_json::{Value, json};
use std::collections::BTreeSet;

#[derive(Clone, Debug)]
pub struct Copied {
    pub entries: Vec<Kept>,
    pub parts: Vec<KeptPart>,
    /// Each with the entry that has it: one photo may be kept with several.
    pub files: Vec<(i64, BookFile)>,
    pub actions: Vec<Action>,
    pub head: Head,
}

#[derive(Clone, Copy, Debug)]
pub enum Tampering {
    EditText,
    EditHash,
    EditAndRehash,
    Delete,
    InsertCopy,
    InsertForged,
    Swap,
    CutOff,
    CutOffWithTheHead,
    RewriteTheWhole,
    RewriteFrom,
    DropPart,
    EditPart,
    EditSalt,
    SwapParts,
    AddPart,
    DropFile,
    EditFile,
    AddFile,
    SwapFiles,
    RenameFile,
}

pub const ALL: [Tampering; 21] = [
    Tampering::EditText,
    Tampering::EditHash,
    Tampering::EditAndRehash,
    Tampering::Delete,
    Tampering::InsertCopy,
    Tampering::InsertForged,
    Tampering::Swap,
    Tampering::CutOff,
    Tampering::CutOffWithTheHead,
    Tampering::RewriteTheWhole,
    Tampering::RewriteFrom,
    Tampering::DropPart,
    Tampering::EditPart,
    Tampering::EditSalt,
    Tampering::SwapParts,
    Tampering::AddPart,
    Tampering::DropFile,
    Tampering::EditFile,
    Tampering::AddFile,
    Tampering::SwapFiles,
    Tampering::RenameFile,
];

fn salt(dice: &mut Dice) -> [u8; 16] {
    std::array::from_fn(|_| u8::try_from(dice.throw(256)).unwrap_or(0))
}

fn file(bytes: Vec<u8>) -> BookFile {
    BookFile {
        sha256: Digest::of(&bytes),
        ending: "jpg".to_owned(),
        bytes,
    }
}

impl Copied {
    pub fn by_chance(dice: &mut Dice) -> Self {
        let mut book = Self {
            entries: vec![],
            parts: vec![],
            files: vec![],
            actions: vec![],
            head: Head::EMPTY,
        };
        for number in 0..3 + dice.throw(8) {
            match dice.throw(3) {
                0 => book.act(dice),
                _ => book.tell(dice, number),
            }
            if dice.throw(4) == 0 {
                book.erase(dice);
            }
        }
        if dice.throw(2) == 0 {
            book.erase_one_of_three();
        }
        book
    }

    fn at(&self) -> Instant {
        Instant(1_795_600_000_000 + self.head.count * 61_000)
    }

    fn draft(&self, kind: &str, body: Value) -> Draft {
        Draft {
            at: self.at(),
            kind: kind.to_owned(),
            body,
            attached: vec![],
            parts: vec![],
        }
    }

    fn tell(&mut self, dice: &mut Dice, number: usize) {
        let words = [
            "It smoked \u{1F525} at 60 °C.",
            "Sand\nwas \"put\" on it.",
            "It's cold\u{7}.",
            "",
        ];
        let kind = ["opened", "timeline", "told_to"][dice.throw(3)];
        let incident = ["I-001", "I-002"][dice.throw(2)];
        let body = json!({ "incident": incident, "words": words[dice.throw(4)], "number": number, "\u{20ac}": null });
        let mut draft = self.draft(kind, body);
        if dice.throw(3) > 0 {
            draft
                .parts
                .push(Part::new("who_was_there", salt(dice), "Ada and Mo"));
        }
        if dice.throw(3) == 0 {
            draft
                .parts
                .push(Part::new("injuries", salt(dice), "a burnt finger"));
        }
        if dice.throw(2) == 0 {
            let original = (dice.throw(2) == 0).then_some(Digest::of(b"as sent"));
            let photo = file(format!("photo {number}").into_bytes());
            self.attach(&mut draft, photo, original);
        }
        self.add(draft);
    }

    fn attach(&mut self, draft: &mut Draft, photo: BookFile, original_sha256: Option<Digest>) {
        draft.attached.push(Attached {
            name: "photo".to_owned(),
            sha256: photo.sha256,
            original_sha256,
        });
        self.files.push((self.head.count + 1, photo));
    }

    /// An action is set, or something becomes of one.
    fn act(&mut self, dice: &mut Dice) {
        let (seq, today) = (self.head.count + 1, Zone::utc().day_of(self.at()));
        let is_new = self.actions.is_empty() || dice.throw(3) == 0;
        if is_new {
            let incident = ["I-001", "I-002"][dice.throw(2)];
            let days =
                json!({ "incident": incident, "due": "2026-12-01", "look_on": "2026-12-10" });
            self.add(self.draft("action_set", days));
            self.actions.push(Action {
                seq,
                incident: incident.to_owned(),
                stands: "to_do".to_owned(),
                by_on: "2026-12-01".to_owned(),
                owner_seq: seq,
            });
            return;
        }
        let which = dice.throw(self.actions.len());
        let action = &mut self.actions[which];
        let (of, incident) = (action.seq, action.incident.clone());
        let (kind, body) = match (action.stands.as_str(), dice.throw(3)) {
            ("to_do", 1..) => {
                "to_look_at".clone_into(&mut action.stands);
                "2026-12-10".clone_into(&mut action.by_on);
                let body = json!({ "incident": incident, "action": of });
                ("action_done", body)
            }
            ("to_look_at", 1..) => {
                "worked".clone_into(&mut action.stands);
                action.by_on = today.to_string();
                let body = json!({ "incident": incident, "action": of, "worked": true });
                ("action_looked_at", body)
            }
            _ => {
                action.owner_seq = seq;
                let corrects = json!({ "seq": of, "field": "owner" });
                let body = json!({ "incident": incident, "corrects": corrects, "instead": null });
                ("corrected", body)
            }
        };
        self.add(self.draft(kind, body));
    }

    fn add(&mut self, draft: Draft) {
        let written = write(&self.head, draft).expect("an entry");
        self.entries.push(written.kept);
        self.parts.extend(written.parts);
        self.head = written.head;
    }

    /// One part and, where there is one, one photo, with the entry that says so.
    fn erase(&mut self, dice: &mut Dice) {
        let mut erased = vec![];
        if !self.parts.is_empty() {
            let gone = self.parts.remove(dice.throw(self.parts.len()));
            let (seq, name) = (gone.seq, gone.part.name);
            erased.push(Erased::Part { seq, name });
        }
        if !self.files.is_empty() && dice.throw(2) == 0 {
            let (seq, file) = self.files.remove(dice.throw(self.files.len()));
            let sha256 = file.sha256;
            erased.push(Erased::File { seq, sha256 });
        }
        self.say_erased(&erased);
    }

    fn say_erased(&mut self, erased: &[Erased]) {
        if !erased.is_empty() {
            let draft = erasure::draft(self.at(), erased, "They asked for it.");
            self.add(draft.expect("a draft"));
        }
    }

    /// Three entries have one photo, and it is erased from the first.
    fn erase_one_of_three(&mut self) {
        for incident in ["I-001", "I-002", "I-001"] {
            let mut draft = self.draft("file", json!({ "incident": incident }));
            self.attach(&mut draft, file(b"kept by three".to_vec()), None);
            self.add(draft);
        }
        let (seq, photo) = self.files.remove(self.files.len() - 3);
        let sha256 = photo.sha256;
        self.say_erased(&[Erased::File { seq, sha256 }]);
    }

    /// As the zip has them: each once.
    pub fn digests(&self) -> BTreeSet<Digest> {
        self.files.iter().map(|(_, file)| file.sha256).collect()
    }

    pub fn packed(&self) -> Vec<u8> {
        let export = Export {
            incident: None,
            entries: self.entries.clone(),
            parts: self.parts.clone(),
            head: self.head,
        };
        let files: Vec<BookFile> = self.files.iter().map(|(_, file)| file.clone()).collect();
        bundle::pack(&export, &files, "a note").expect("a zip")
    }

    /// None where there is nothing of the kind to tamper with.
    pub fn tampered(&self, how: Tampering, dice: &mut Dice) -> Option<Self> {
        let mut book = self.clone();
        let count = book.entries.len();
        let place = dice.throw(count);
        match how {
            Tampering::EditText => edit(&mut book.entries[place], dice),
            Tampering::EditHash => book.entries[place].hash = Digest::of(b"forged").to_string(),
            Tampering::EditAndRehash => {
                edit(&mut book.entries[place], dice);
                book.entries[place].hash =
                    Digest::of(book.entries[place].text.as_bytes()).to_string();
            }
            Tampering::Delete => {
                book.entries.remove(place);
            }
            Tampering::InsertCopy => {
                let copy = book.entries[place].clone();
                book.entries.insert(dice.throw(count + 1), copy);
            }
            Tampering::InsertForged => book.insert_forged(place),
            Tampering::Swap => {
                let other = dice.throw(count);
                (other != place).then(|| book.entries.swap(place, other))?;
            }
            Tampering::CutOff => book.entries.truncate(place),
            Tampering::CutOffWithTheHead => book.cut_off(place),
            Tampering::RewriteTheWhole => book.rewrite_from(0),
            Tampering::RewriteFrom => book.rewrite_from(place),
            _ => return book.tampered_beside(how, dice),
        }
        Some(book)
    }

    fn tampered_beside(mut self, how: Tampering, dice: &mut Dice) -> Option<Self> {
        let (parts, files) = (self.parts.len(), self.files.len());
        match how {
            Tampering::AddPart => {
                let seq = i64::try_from(1 + dice.throw(self.entries.len() + 2)).unwrap_or(1);
                let part = Part::new("who_was_there", salt(dice), "Somebody else");
                self.parts.push(KeptPart { seq, part });
            }
            Tampering::AddFile => self.files.push((1, file(b"forged".to_vec()))),
            Tampering::DropFile
            | Tampering::EditFile
            | Tampering::SwapFiles
            | Tampering::RenameFile
                if files == 0 =>
            {
                return None;
            }
            Tampering::DropFile => {
                let gone = self.files[dice.throw(files)].1.sha256;
                self.files.retain(|(_, file)| file.sha256 != gone);
            }
            Tampering::SwapFiles => {
                let [one, other] = [0, 1].map(|_| self.files[dice.throw(files)].1.clone());
                (one.sha256 != other.sha256).then_some(())?;
                for (_, file) in &mut self.files {
                    match file.sha256 {
                        named if named == one.sha256 => file.bytes.clone_from(&other.bytes),
                        named if named == other.sha256 => file.bytes.clone_from(&one.bytes),
                        _ => {}
                    }
                }
            }
            Tampering::RenameFile => {
                let renamed = self.files[dice.throw(files)].1.sha256;
                let ending = ["html", "pdf", "JPG"][dice.throw(3)];
                let all = self.files.iter_mut().map(|(_, file)| file);
                for file in all.filter(|file| file.sha256 == renamed) {
                    ending.clone_into(&mut file.ending);
                }
            }
            Tampering::EditFile => {
                // Under its old name, as somebody would do it.
                let edited = self.files[dice.throw(files)].1.clone();
                let at = dice.throw(edited.bytes.len());
                let all = self.files.iter_mut().map(|(_, file)| file);
                for file in all.filter(|file| file.sha256 == edited.sha256) {
                    file.bytes[at] ^= 1;
                }
            }
            _ if parts == 0 => return None,
            Tampering::DropPart => {
                self.parts.remove(dice.throw(parts));
            }
            Tampering::EditPart => self.parts[dice.throw(parts)].part.words.push('x'),
            Tampering::EditSalt => {
                let salt = Part::new("", salt(dice), "").salt;
                self.parts[dice.throw(parts)].part.salt = salt;
            }
            Tampering::SwapParts => {
                let (one, other) = (dice.throw(parts), dice.throw(parts));
                let of_one = self.parts[one].seq;
                let is_another = of_one != self.parts[other].seq;
                is_another.then(|| self.parts[one].seq = self.parts[other].seq)?;
                self.parts[other].seq = of_one;
            }
            _ => return None,
        }
        Some(self)
    }

    /// An entry that holds with the one before it, and a chain that goes on behind it as it was.
    fn insert_forged(&mut self, place: usize) {
        let mut forged = Entry::read(&self.entries[place].text).expect("an entry");
        forged.body = json!({ "incident": "I-001", "words": "It was the visitor." });
        "timeline".clone_into(&mut forged.kind);
        forged.attached.clear();
        forged.committed.clear();
        let mut kept = self.entries[place].clone();
        set(&mut kept, &forged);
        self.entries.insert(place, kept);
    }

    /// The end is gone, with its parts, its photos and the head that told of it: what is left holds in itself.
    fn cut_off(&mut self, place: usize) {
        self.entries.truncate(place);
        self.head = self.entries.last().map_or(Head::EMPTY, |last| {
            let entry = Entry::read(&last.text).expect("an entry");
            Head {
                count: entry.seq,
                hash: Digest::of(last.text.as_bytes()),
                at_ms: entry.at_ms,
            }
        });
        let count = self.head.count;
        self.parts.retain(|part| part.seq <= count);
        self.files.retain(|(seq, _)| *seq <= count);
        self.actions.retain(|action| action.seq <= count);
    }

    /// One entry says another time, and all behind it are linked anew, with the head: the book holds in itself.
    fn rewrite_from(&mut self, place: usize) {
        let before = place.checked_sub(1);
        let mut previous = before.map_or(Digest::NONE_BEFORE, |at| {
            Digest::of(self.entries[at].text.as_bytes())
        });
        for (at, kept) in self.entries.iter_mut().enumerate().skip(place) {
            let mut entry = Entry::read(&kept.text).expect("an entry");
            entry.previous = previous;
            entry.at_ms += i64::from(at == place);
            set(kept, &entry);
            previous = Digest::of(kept.text.as_bytes());
            self.head = Head {
                count: entry.seq,
                hash: previous,
                at_ms: entry.at_ms,
            };
        }
    }
}

fn set(kept: &mut Kept, entry: &Entry) {
    kept.text = entry.text().expect("a text");
    kept.hash = Digest::of(kept.text.as_bytes()).to_string();
}

/// One sign of the text becomes another.
fn edit(kept: &mut Kept, dice: &mut Dice) {
    let mut signs: Vec<char> = kept.text.chars().collect();
    let at = dice.throw(signs.len());
    signs[at] = if signs[at] == '7' { '8' } else { '7' };
    kept.text = signs.into_iter().collect();
}
