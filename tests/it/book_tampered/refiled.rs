//! Every way to file a book otherwise in the database than its entries say: no digest covers where a row stands. Each is one statement.

use super::forged::Copied;
use crate::support::Dice;
use sandbucket::club::book::entry::Entry;
use sandbucket::paper::bundle::BookFile;

#[derive(Clone, Copy, Debug)]
pub enum Refiling {
    /// The page of its incident shows it no more.
    HideEntry,
    MoveEntry,
    RenumberEntry,
    /// From the entry that keeps it to the one from which it was erased.
    MoveFileBack,
    MoveFile,
    /// Another entry still has it.
    DropOneOfTwo,
    FileOfAnotherKind,
    ActionStandsOtherwise,
    PostponeAction,
    ActionOfAnotherOwner,
    MoveAction,
    DropAction,
    AddAction,
}

pub const ALL: [Refiling; 13] = [
    Refiling::HideEntry,
    Refiling::MoveEntry,
    Refiling::RenumberEntry,
    Refiling::MoveFileBack,
    Refiling::MoveFile,
    Refiling::DropOneOfTwo,
    Refiling::FileOfAnotherKind,
    Refiling::ActionStandsOtherwise,
    Refiling::PostponeAction,
    Refiling::ActionOfAnotherOwner,
    Refiling::MoveAction,
    Refiling::DropAction,
    Refiling::AddAction,
];

/// None where there is nothing of the kind to file otherwise.
pub fn sql_of(book: &Copied, how: Refiling, dice: &mut Dice) -> Option<String> {
    let count = book.entries.len();
    let place = dice.throw(count);
    let seq = place + 1;
    let entry = Entry::read(&book.entries[place].text).expect("an entry");
    Some(match how {
        Refiling::HideEntry => {
            entry.body["incident"].as_str()?;
            format!("UPDATE book_entry SET incident = '' WHERE seq = {seq}")
        }
        Refiling::MoveEntry => {
            format!("UPDATE book_entry SET incident = 'I-003' WHERE seq = {seq}")
        }
        Refiling::RenumberEntry => {
            let last = i64::try_from(count).expect("a number");
            let has_rows = book.parts.iter().any(|part| part.seq == last)
                || book.files.iter().any(|(seq, _)| *seq == last)
                || book.actions.iter().any(|action| action.seq == last);
            (!has_rows).then(|| format!("UPDATE book_entry SET seq = 99 WHERE seq = {last}"))?
        }
        Refiling::MoveFileBack
        | Refiling::MoveFile
        | Refiling::DropOneOfTwo
        | Refiling::FileOfAnotherKind => {
            return of_file(book, how, dice);
        }
        _ => return of_action(book, how, dice),
    })
}

fn of_file(book: &Copied, how: Refiling, dice: &mut Dice) -> Option<String> {
    let count = book.files.len();
    let (seq, file) = (count > 0).then(|| &book.files[dice.throw(count)])?;
    let sha256 = file.sha256.to_string();
    let of_it = format!("WHERE seq = {seq} AND sha256 = '{sha256}'");
    let has = |at: &usize| {
        let entry = Entry::read(&book.entries[*at].text).expect("an entry");
        entry.attached.iter().any(|one| one.sha256 == file.sha256)
    };
    let kept = |at: &usize| {
        let mut all = book.files.iter();
        all.any(|(seq, one)| usize::try_from(*seq) == Ok(at + 1) && one.sha256 == file.sha256)
    };
    let to = match how {
        Refiling::FileOfAnotherKind => {
            return Some(format!("UPDATE book_file SET kind = 'pdf' {of_it}"));
        }
        Refiling::DropOneOfTwo => {
            let is_same = |(_, one): &&(i64, BookFile)| one.sha256 == file.sha256;
            let kept_twice = book.files.iter().filter(is_same).count() > 1;
            return kept_twice.then(|| format!("DELETE FROM book_file {of_it}"));
        }
        Refiling::MoveFileBack => (0..book.entries.len()).find(|at| has(at) && !kept(at))?,
        _ => (0..book.entries.len()).find(|at| !has(at))?,
    };
    Some(format!("UPDATE book_file SET seq = {} {of_it}", to + 1))
}

fn of_action(book: &Copied, how: Refiling, dice: &mut Dice) -> Option<String> {
    let count = book.actions.len();
    if let Refiling::AddAction = how {
        let sets_one = |seq: &usize| {
            book.actions
                .iter()
                .any(|one| usize::try_from(one.seq) == Ok(*seq))
        };
        let seq = (1..=book.entries.len()).find(|seq| !sets_one(seq))?;
        return Some(format!(
            "INSERT INTO book_action (seq, incident, stands, by_on, owner_seq) VALUES ({seq}, 'I-001', 'to_do', '2026-12-01', {seq})"
        ));
    }
    let action = (count > 0).then(|| &book.actions[dice.throw(count)])?;
    let set = match how {
        Refiling::DropAction => {
            return Some(format!(
                "DELETE FROM book_action WHERE seq = {}",
                action.seq
            ));
        }
        Refiling::ActionStandsOtherwise if action.stands == "worked" => "stands = 'to_do'",
        Refiling::ActionStandsOtherwise => "stands = 'worked'",
        Refiling::PostponeAction => "by_on = '2036-12-01'",
        Refiling::ActionOfAnotherOwner => "owner_seq = 99",
        _ => "incident = 'I-003'",
    };
    Some(format!(
        "UPDATE book_action SET {set} WHERE seq = {}",
        action.seq
    ))
}
