//! The exported text: what is read back is what was kept, and a text that was touched is not taken or does not verify.

use super::check_tests::{Sample, sample};
use super::digest::Digest;
use super::export::{Export, NotAnExport};
use proptest::prelude::*;

fn export(of: &Sample) -> Export {
    Export {
        incident: None,
        entries: of.entries.clone(),
        parts: of.parts.clone(),
        head: of.head(),
    }
}

#[test]
fn an_exported_book_is_read_back_and_holds() {
    let book = sample();
    let text = export(&book).text().expect("a text");
    let read = Export::read(&text).expect("an export");
    assert_eq!(read, export(&book));
    assert_eq!(read.check(Some(&book.files), &book.heads), Ok(book.head()));
    // The sum of a file's text, as anybody may reckon it.
    assert_eq!(
        Digest::of(read.entries[3].text.as_bytes()).to_string(),
        read.entries[3].hash
    );
}

#[test]
fn a_file_of_another_kind_is_not_taken() {
    let text = export(&sample()).text().expect("a text");
    assert!(matches!(
        Export::read(&text.replace("incident-book/1", "incident-book/2")),
        Err(NotAnExport::Format(_))
    ));
    assert_eq!(Export::read("{\"entries\":[]}"), Err(NotAnExport::Members));
    assert!(matches!(
        Export::read(&format!("{text}\n")),
        Err(NotAnExport::NotCanonical(_))
    ));
}

#[test]
fn an_end_cut_off_with_its_head_is_found_against_the_printed_one() {
    let book = sample();
    let mut cut = export(&book);
    cut.entries.truncate(3);
    cut.head = book.heads[2];
    assert_eq!(cut.check(Some(&book.files), &[]), Ok(book.heads[2]));
    assert!(cut.check(Some(&book.files), &[book.head()]).is_err());
}

proptest! {
    #[test]
    fn one_sign_of_an_export_changed_added_or_dropped_is_found(
        at in any::<prop::sample::Index>(), sign in prop::char::range(' ', '~'), how in 0..3,
    ) {
        let book = sample();
        let text = export(&book).text().expect("a text");
        let mut signs: Vec<char> = text.chars().collect();
        let at = at.index(signs.len());
        match how {
            0 => signs[at] = sign,
            1 => signs.insert(at, sign),
            _ => { signs.remove(at); }
        }
        let touched: String = signs.into_iter().collect();
        prop_assume!(touched != text);
        let holds = Export::read(&touched)
            .is_ok_and(|read| read.check(Some(&book.files), &[book.head()]).is_ok());
        prop_assert!(!holds, "{touched}");
    }
}
