//! Sets a document with typst and makes a PDF of it. A document is a template of ours and its data as JSON: what people
//! typed is data and never read as markup. It reads no file and no network, and its clock is the document's own day.

use super::PaperError;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration, IntoValue, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

/// Made static from the variable font that the pages use, since a PDF embeds outlines as they are.
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let files: [&'static [u8]; 2] = [
        include_bytes!("fonts/AtkinsonHyperlegibleNext-Regular.ttf"),
        include_bytes!("fonts/AtkinsonHyperlegibleNext-Bold.ttf"),
    ];
    let read = files.map(|file| Font::new(Bytes::new(file), 0));
    read.into_iter().flatten().collect()
});

struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    main: Source,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            Ok(self.main.clone())
        } else {
            Err(FileError::AccessDenied)
        }
    }

    fn file(&self, _: FileId) -> FileResult<Bytes> {
        Err(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// `template`: our own markup, which finds `data` under `sys.inputs.data`. Takes tenths of a second: call it where it
/// keeps nobody waiting.
pub(super) fn pdf(template: &str, data: &serde_json::Value) -> Result<Vec<u8>, PaperError> {
    pdf_with_photos(template, data, Vec::new())
}

/// As [`pdf`]; the template finds the bytes of each photo under `sys.inputs.photos` by its name.
pub(super) fn pdf_with_photos(
    template: &str,
    data: &serde_json::Value,
    photos: Vec<(String, Vec<u8>)>,
) -> Result<Vec<u8>, PaperError> {
    let path = VirtualPath::new("/main.typ").map_err(|error| PaperError(format!("{error:?}")))?;
    let mut inputs = Dict::new();
    inputs.insert("data".into(), data.to_string().into_value());
    let photos: Dict = photos
        .into_iter()
        .map(|(name, bytes)| (name.into(), Bytes::new(bytes).into_value()))
        .collect();
    inputs.insert("photos".into(), photos.into_value());
    let desk = Desk {
        library: LazyHash::new(Library::builder().with_inputs(inputs).build()),
        book: LazyHash::new(FontBook::from_fonts(FONTS.iter())),
        main: Source::new(
            FileId::new(RootedPath::new(VirtualRoot::Project, path)),
            template.to_owned(),
        ),
    };
    let set = typst::compile::<PagedDocument>(&desk).output;
    let document = set.map_err(|told| said(&told))?;
    let options = PdfOptions {
        creator: Smart::Custom(Some("Sandbucket".to_owned())),
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|told| said(&told));
    // What it remembers of this document would only lie in memory.
    typst::comemo::evict(0);
    bytes
}

fn said(told: &[typst::diag::SourceDiagnostic]) -> PaperError {
    let words: Vec<&str> = told.iter().map(|one| one.message.as_str()).collect();
    PaperError(words.join("; "))
}
