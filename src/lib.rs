//! `halfcell` turns a technician's service-visit file into a calibration record that a plant can read, an auditor can
//! trust and an office can regenerate years later.
//!
//! ```text
//! visit file ─read─▶ Tree ─check─▶ Visit ─compute─▶ Record ─compose─▶ Document ─paint─▶ PDF, HTML ─issue─▶ certificates
//!                            ▲ client, kit, limits, firm files, reference data   ▲ wording
//! ```
//!
//! The modules stand in the order of that picture; each uses only those above it (a test holds this).
//! Nothing below [`commands`] reads the clock, the locale or the environment: the same files give the same bytes.
#![warn(missing_docs)]
#![forbid(unsafe_code)]
// A problem is made once and printed; boxing it would only blur the signatures.
#![allow(clippy::result_large_err)]

// One module a line group, so that the order of the picture stays.

pub mod problem;

pub mod quantity;

pub mod rounding;

pub mod csv;

pub mod reference;

pub mod source;

pub mod yaml;

pub mod client;

pub mod kit;

pub mod limits;

pub mod firm;

pub mod visit;

pub mod engine;

pub mod record;

pub mod requirements;

pub mod wording;

pub mod document;

pub mod paint;

pub mod register;

pub mod issue;

pub mod past;

pub mod commands;
