//! A zip file of a few whole files in memory, written and read. Written: deflated, no dates of its own, so that the same files
//! give the same bytes. Read: stored or deflated, every name once, every sum right, at most [`MOST_BYTES`] in all. After
//! PKWARE's APPNOTE 6.3 (its sections 4.3 and 4.4, from memory); no encryption, no zip64, no comments of files.

use flate2::read::{DeflateDecoder, DeflateEncoder};
use flate2::{Compression, Crc};
use std::collections::BTreeSet;
use std::io::Read;

/// What a zip may come to when it is unpacked.
pub const MOST_BYTES: u64 = 1024 * 1024 * 1024;

const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;
/// 1 January 1980, the first day that a zip can name.
const NO_DAY: u16 = 0x21;
/// Names are UTF-8.
const FLAGS: u16 = 0x0800;
const DEFLATED: u16 = 8;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    pub name: String,
    pub bytes: Vec<u8>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAZip {
    #[error("The file is no zip that can be read.")]
    Shape,
    #[error("The zip holds two files of one name.")]
    Doubled,
    #[error("A file in the zip is damaged.")]
    Damaged,
    #[error("What is in the zip is too large.")]
    Large,
}

/// None where it would not fit a zip: 4 GB, or 65,535 files.
pub fn write(members: &[Member]) -> Option<Vec<u8>> {
    let (mut out, mut directory) = (Vec::new(), Vec::new());
    for member in members {
        let mut packed = Vec::new();
        let mut deflater = DeflateEncoder::new(member.bytes.as_slice(), Compression::default());
        deflater.read_to_end(&mut packed).ok()?;
        let mut sum = Crc::new();
        sum.update(&member.bytes);
        let at = u32::try_from(out.len()).ok()?;
        let mut about = Vec::new();
        for field in [20, FLAGS, DEFLATED, 0, NO_DAY] {
            about.extend(field.to_le_bytes());
        }
        about.extend(sum.sum().to_le_bytes());
        about.extend(u32::try_from(packed.len()).ok()?.to_le_bytes());
        about.extend(u32::try_from(member.bytes.len()).ok()?.to_le_bytes());
        about.extend(u16::try_from(member.name.len()).ok()?.to_le_bytes());
        about.extend(0_u16.to_le_bytes());
        out.extend(LOCAL.to_le_bytes());
        out.extend(&about);
        out.extend(member.name.as_bytes());
        out.extend(packed);
        directory.extend(CENTRAL.to_le_bytes());
        directory.extend(20_u16.to_le_bytes());
        directory.extend(about);
        directory.extend([0; 10]);
        directory.extend(at.to_le_bytes());
        directory.extend(member.name.as_bytes());
    }
    let at = u32::try_from(out.len()).ok()?;
    let count = u16::try_from(members.len()).ok()?;
    let size = u32::try_from(directory.len()).ok()?;
    out.extend(directory);
    out.extend(END.to_le_bytes());
    out.extend([0; 4]);
    out.extend([count.to_le_bytes(), count.to_le_bytes()].concat());
    out.extend([size.to_le_bytes(), at.to_le_bytes()].concat());
    out.extend([0; 2]);
    Some(out)
}

pub fn is_zip(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK")
}

pub fn read(bytes: &[u8]) -> Result<Vec<Member>, NotAZip> {
    let zip = Bytes(bytes);
    let end = zip.end().ok_or(NotAZip::Shape)?;
    let count = zip.short(end + 10).ok_or(NotAZip::Shape)?;
    let mut at = zip.long(end + 16).ok_or(NotAZip::Shape)?;
    let (mut members, mut names, mut left) = (Vec::new(), BTreeSet::new(), MOST_BYTES);
    for _ in 0..count {
        let (member, next) = zip.member(at, left)?;
        left -= member.bytes.len() as u64;
        if !names.insert(member.name.clone()) {
            return Err(NotAZip::Doubled);
        }
        members.push(member);
        at = next;
    }
    Ok(members)
}

struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn short(&self, at: usize) -> Option<usize> {
        let pair = self.0.get(at..)?.first_chunk()?;
        Some(usize::from(u16::from_le_bytes(*pair)))
    }

    fn long(&self, at: usize) -> Option<usize> {
        let four = self.0.get(at..)?.first_chunk()?;
        usize::try_from(u32::from_le_bytes(*four)).ok()
    }

    fn has(&self, mark: u32, at: usize) -> bool {
        self.long(at) == usize::try_from(mark).ok()
    }

    /// Where the record of the end stands: the last one that reaches just to the end of the file.
    fn end(&self) -> Option<usize> {
        let last = self.0.len().checked_sub(22)?;
        let first = last.saturating_sub(0xffff);
        let is_end = |at: &usize| {
            self.has(END, *at)
                && self
                    .short(at + 20)
                    .is_some_and(|more| at + 22 + more == self.0.len())
        };
        (first..=last).rev().find(is_end)
    }

    /// The file whose line of the directory stands at `at`, and where the next line is.
    fn member(&self, at: usize, most: u64) -> Result<(Member, usize), NotAZip> {
        if !self.has(CENTRAL, at) {
            return Err(NotAZip::Shape);
        }
        let short = |by: usize| self.short(at + by).ok_or(NotAZip::Shape);
        let long = |by: usize| self.long(at + by).ok_or(NotAZip::Shape);
        let (flags, way, named) = (short(8)?, short(10)?, short(28)?);
        let (sum, packed, size, local) = (long(16)?, long(20)?, long(24)?, long(42)?);
        let next = at + 46 + named + short(30)? + short(32)?;
        let name = self.0.get(at + 46..at + 46 + named);
        let name = name.and_then(|name| std::str::from_utf8(name).ok());
        let name = name.ok_or(NotAZip::Shape)?.to_owned();
        if flags & 1 != 0 || !self.has(LOCAL, local) {
            return Err(NotAZip::Shape);
        }
        let skipped = |by: usize| self.short(local + by).ok_or(NotAZip::Shape);
        let from = local + 30 + skipped(26)? + skipped(28)?;
        let packed = self.0.get(from..from.saturating_add(packed));
        let packed = packed.ok_or(NotAZip::Shape)?;
        let size = size as u64;
        if size > most {
            return Err(NotAZip::Large);
        }
        let bytes = unpacked(packed, way, size)?;
        let mut reckoned = Crc::new();
        reckoned.update(&bytes);
        if bytes.len() as u64 != size || reckoned.sum() as usize != sum {
            return Err(NotAZip::Damaged);
        }
        Ok((Member { name, bytes }, next))
    }
}

/// Never more than one byte past `size`.
fn unpacked(packed: &[u8], way: usize, size: u64) -> Result<Vec<u8>, NotAZip> {
    match way {
        0 => Ok(packed.to_vec()),
        8 => {
            let (mut bytes, mut inflater) = (Vec::new(), DeflateDecoder::new(packed));
            let inflated = inflater.by_ref().take(size + 1).read_to_end(&mut bytes);
            inflated.map_err(|_| NotAZip::Damaged)?;
            let has_read_all = inflater.total_in() == packed.len() as u64;
            has_read_all.then_some(bytes).ok_or(NotAZip::Damaged)
        }
        _ => Err(NotAZip::Shape),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn member(name: &str, bytes: &[u8]) -> Member {
        Member {
            name: name.to_owned(),
            bytes: bytes.to_vec(),
        }
    }

    #[test]
    fn what_is_written_is_read_back_and_the_same_files_give_the_same_bytes() {
        let members = [member("a.txt", b""), member("files/\u{e4}", &[7; 100_000])];
        let zip = write(&members).expect("a zip");
        assert!(is_zip(&zip) && zip.len() < 2_000);
        assert_eq!(read(&zip).as_deref(), Ok(members.as_slice()));
        assert_eq!(write(&members), Some(zip));
        assert_eq!(read(&write(&[]).expect("a zip")), Ok(vec![]));
    }

    #[test]
    fn two_files_of_one_name_a_damaged_one_and_one_that_swells_are_refused() {
        let twice = [member("a", b"1"), member("a", b"2")];
        assert_eq!(read(&write(&twice).expect("a zip")), Err(NotAZip::Doubled));
        let mut zip = write(&[member("a", b"some words, some words")]).expect("a zip");
        let directory = zip.len() - 22 - 47;
        assert_eq!(zip[directory], b'P');
        let mut swollen = zip.clone();
        swollen[directory + 24..directory + 28].copy_from_slice(&4_u32.to_le_bytes());
        assert_eq!(read(&swollen), Err(NotAZip::Damaged));
        swollen[directory + 24..directory + 28].copy_from_slice(&u32::MAX.to_le_bytes());
        assert_eq!(read(&swollen), Err(NotAZip::Large));
        zip[directory + 16] ^= 1;
        assert_eq!(read(&zip), Err(NotAZip::Damaged));
        assert_eq!(read(b"PK"), Err(NotAZip::Shape));
    }

    proptest! {
        #[test]
        fn a_zip_with_any_byte_changed_or_cut_off_is_read_as_something_or_refused(
            at in any::<prop::sample::Index>(), byte in any::<u8>(), is_cut in any::<bool>(),
        ) {
            let mut zip = write(&[member("book.json", b"{}"), member("files/x", &[1; 300])]).expect("a zip");
            let at = at.index(zip.len());
            if is_cut { zip.truncate(at) } else { zip[at] = byte }
            let _ = read(&zip);
        }
    }
}
