//! What can be wrong with a document, and what else a reader should know.

/// Something that does not agree.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Fault {
    /// Something was added behind the end of the file, so often.
    Updated { times: usize },
    /// Bytes follow behind the last end of the file.
    Appended { bytes: usize },
    /// The file was written anew by another program.
    Rewritten,
    /// The catalog has an entry that no document of this program has: a script, a form, an action.
    Entry { name: String },
    /// Notes lie on a page.
    Annotation { page: usize },
    /// The content of a page cannot be read in full.
    PageDamaged { page: usize },
    /// There are more pages, or fewer.
    Pages { found: usize, expected: usize },
    /// A file from which the record was computed is not attached.
    AttachmentMissing { name: String },
    /// An attached file is not the one that was attached, or from which the record was computed.
    AttachmentAltered { name: String, found: String, expected: String },
    /// A file is attached that has no part in the document.
    AttachmentUnknown { name: String },
    /// An attached file is damaged.
    AttachmentDamaged { name: String },
    /// No record is attached, or several are.
    NoRecord,
    /// The record cannot be read.
    RecordUnreadable { why: String },
    /// Nothing can be computed from what is attached.
    NotRecomputed { why: String },
    /// The record says something else than the data give.
    Record { place: String, found: String, expected: String },
    /// The same of a verdict or the outcome of a criterion.
    Outcome { place: String, found: String, expected: String },
    /// A page says something else than the data give.
    Printed { page: usize, found: String, expected: String },
    /// A page says something that the data do not give.
    PrintedMore { page: usize, found: String },
    /// A page lacks something that the data give.
    PrintedLess { page: usize, expected: String },
    /// The seal of an HTML page is not that of its bytes.
    Seal,
    /// An HTML page has no seal.
    NoSeal,
    /// An HTML page says a figure that its record does not give.
    Unfounded { found: String },
    /// The document says something else of itself than the data give.
    Metadata { entry: String, found: String, expected: String },
    /// The firm's file names a logo, and no page shows it.
    NoLogo,
    /// A page is drawn otherwise, though its text is the same.
    Drawing { page: usize },
    /// Fonts, structure or logo are not those that were written, though text and drawing are the same.
    Structure,
}

/// What a reader should know besides.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Note {
    /// Nothing is attached: only a register can prove the document.
    NothingAttached,
    /// An HTML page carries its record, and not the files it was computed from.
    RecordOnly,
    /// An HTML page of a version that did not seal: only its main figures are held against its record.
    NotSealed,
    /// The page names no line of a register.
    NotRegistered,
    /// It was made by another version, so that figures and text are compared, and not the drawing.
    OtherVersion { made_by: String },
    /// That version worded so many texts otherwise.
    WordedOtherwise { texts: usize },
    /// A figure that this version says and that one did not, or says at another place.
    NotCompared { page: usize, found: String },
    /// A figure of the record that this version has no more.
    NoLongerRecorded { place: String },
    /// Earlier visits are not attached, so that history and trend are taken from the record as they are.
    HistoryTaken,
    /// The firm's added fonts are not attached: the text in them is not compared, nor the drawing.
    FontsMissing,
    /// The logo is not attached: it is taken as the document shows it.
    LogoTaken,
}

fn short(text: &str) -> String {
    /// Most characters that are quoted.
    const QUOTED: usize = 90;
    match text.char_indices().nth(QUOTED) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

fn begin(hash: &str) -> &str {
    hash.get(..12).unwrap_or(hash)
}

impl Fault {
    /// In a sentence.
    pub fn told(&self) -> String {
        match self {
            Fault::Updated { times } => format!("something was added behind the end of the file, {times} times over"),
            Fault::Appended { bytes } => format!("{bytes} bytes follow behind the end of the file"),
            Fault::Rewritten => {
                "the file was written anew by another program; its text is what the data give".to_owned()
            }
            Fault::Entry { name } => {
                format!(
                    "the file has an entry {name}, which no document of this program has: it may run or hide something"
                )
            }
            Fault::Annotation { page } => {
                format!("page {page}: notes lie on the page, which may cover what stands there")
            }
            Fault::PageDamaged { page } => format!("page {page}: its content is damaged"),
            Fault::Pages { found, expected } => format!("it has {found} pages where the data give {expected}"),
            Fault::AttachmentMissing { name } => {
                format!("{name}, from which the record was computed, is not attached")
            }
            Fault::AttachmentAltered { name, found, expected } => format!(
                "the attached {name} was changed: its SHA-256 begins with {} and not with {}",
                begin(found),
                begin(expected)
            ),
            Fault::AttachmentUnknown { name } => format!("{name} is attached and has no part in this document"),
            Fault::AttachmentDamaged { name } => format!("the attached {name} is damaged"),
            Fault::NoRecord => "its record is not attached".to_owned(),
            Fault::RecordUnreadable { why } => format!("its record cannot be read: {}", short(why)),
            Fault::NotRecomputed { why } => format!("nothing can be computed from what is attached: {}", short(why)),
            Fault::Record { place, found, expected } => {
                format!("record, {place}: «{}» where the data give «{}»", short(found), short(expected))
            }
            Fault::Outcome { place, found, expected } => {
                format!("record, {place}: the outcome is «{}» where the data give «{}»", short(found), short(expected))
            }
            Fault::Printed { page, found, expected } => {
                format!("page {page}: «{}» where the data give «{}»", short(found), short(expected))
            }
            Fault::PrintedMore { page, found } => {
                format!("page {page}: «{}», which the data do not give", short(found))
            }
            Fault::PrintedLess { page, expected } => format!("page {page}: «{}» is missing", short(expected)),
            Fault::Seal => {
                "the page was changed after it was written: it is not what its own SHA-256 (`page-sha256`) says"
                    .to_owned()
            }
            Fault::NoSeal => "its own SHA-256 (`page-sha256`) was taken out of the page".to_owned(),
            Fault::Unfounded { found } => format!("the page says «{}», which its record does not give", short(found)),
            Fault::Metadata { entry, found, expected } => {
                format!("metadata, {entry}: «{}» where the data give «{}»", short(found), short(expected))
            }
            Fault::NoLogo => "the firm's file names a logo, and the first page shows none".to_owned(),
            Fault::Drawing { page } => format!("page {page}: the text is the same, but the drawing was changed"),
            Fault::Structure => {
                "text and drawing are the same, but fonts, structure or other parts of the file were changed".to_owned()
            }
        }
    }
}

impl Note {
    /// In a sentence.
    pub fn told(&self) -> String {
        match self {
            Note::NothingAttached => "nothing is attached to it: only a register can prove it".to_owned(),
            Note::RecordOnly => {
                "an HTML page carries its record, not the files it was computed from: its main figures are held against the \
                 record, the rest needs the PDF or a register"
                    .to_owned()
            }
            Note::NotSealed => "made by a version that wrote no SHA-256 of the page into it".to_owned(),
            Note::NotRegistered => "the page names no line of a register".to_owned(),
            Note::OtherVersion { made_by } => format!(
                "made by {made_by}: figures, outcomes and text were compared, the drawing only by that version or a register"
            ),
            Note::WordedOtherwise { texts } => format!("{texts} texts are worded otherwise by that version"),
            Note::NotCompared { page, found } => {
                format!("page {page}: «{}» has no counterpart in what this version prints", short(found))
            }
            Note::NoLongerRecorded { place } => format!("record, {place}: this version no longer records it"),
            Note::HistoryTaken => {
                "earlier visits are not attached: history and trend stand as the record has them".to_owned()
            }
            Note::FontsMissing => {
                "the fonts that the firm adds are not attached: text in them and the drawing were not compared".to_owned()
            }
            Note::LogoTaken => "the logo is not attached: it was taken as the page shows it".to_owned(),
        }
    }
}
