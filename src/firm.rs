//! The firm file: who issues, how the document looks and is numbered.
//!
//! Comes in: the tree of `firm.yaml`, or nothing. Goes out: a [`Firm`] and every problem. Next: [`crate::visit`] (people,
//! limits, procedure) and [`crate::document`] (brand).

pub use crate::rounding::DecimalSign;
use crate::yaml::Text;

/// The issuing firm and its brand.
#[derive(Debug, Clone, PartialEq)]
pub struct Firm {
    /// Name; none without a firm file.
    pub name: Option<Text>,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Contact line.
    pub contact: Option<Text>,
    /// Logo as read.
    pub logo: Option<Logo>,
    /// Accent colour, sRGB.
    pub accent: [u8; 3],
    /// Paper.
    pub paper: Paper,
    /// Decimal sign on documents.
    pub decimal_sign: DecimalSign,
    /// Pattern of document numbers: `{visit}-{loop}`.
    pub numbering: String,
    /// Footer text.
    pub footer: Option<Text>,
    /// Accreditation text; printed only if given.
    pub accreditation: Option<Text>,
    /// Path of the firm's limits, relative to the firm file.
    pub limits: Option<Text>,
    /// Procedure used unless the visit names one.
    pub procedure: Option<Procedure>,
    /// People with their qualification.
    pub people: Vec<Person>,
    /// Signatures needed before a document stops being a draft.
    pub signatures: Vec<Role>,
    /// Whether text sources are attached to the document.
    pub attachments: bool,
    /// Suggested interval in days.
    pub interval_days: Option<u32>,
}

/// A logo.
#[derive(Debug, Clone, PartialEq)]
pub struct Logo {
    /// Name relative to the visit's folder.
    pub name: String,
    /// SVG or PNG.
    pub kind: LogoKind,
    /// The bytes as read.
    pub bytes: Vec<u8>,
}

/// Kind of a logo file, told by its content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogoKind {
    /// Scalable vector graphics.
    Svg,
    /// Portable network graphics.
    Png,
}

/// Paper size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

/// A written procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure {
    /// Name or number.
    pub name: Text,
    /// Revision as typed.
    pub revision: Option<Text>,
}

/// A person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Name.
    pub name: Text,
    /// Qualification.
    pub qualification: Option<Text>,
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Did the work.
    Performed,
    /// Reviewed the record.
    Reviewed,
    /// Authorised the document.
    Authorised,
    /// Received it for the client.
    Received,
}
