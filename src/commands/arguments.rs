//! The arguments of every command.

use chrono::NaiveDate;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Calibration certificates for pH and redox loops, from a technician's visit file.
#[derive(Debug, Parser)]
#[command(name = "halfcell", version, about, arg_required_else_help = true, max_term_width = 100)]
#[command(after_help = "Exit codes: 0 done; 1 something was refused; 2 wrong use or no access.\n\
    A failed probe is a verdict, not an error.")]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented visit file to fill in
    New(New),
    /// Check visit files, compute, and show the result; writes nothing
    Check(Check),
    /// Check, compute, write certificates as PDF and HTML and enter them in the register
    Issue(Issue),
    /// Tell one loop or probe over time, from the register
    History(super::history::History),
    /// List when loops are due, from the register
    Due(super::due::DueList),
    /// Judge what was issued by other limits: shows which verdicts change; makes re-evaluations with --issue
    Rejudge(super::rejudge::Rejudge),
    /// Tell whether documents and their register stand: unchanged, complete, in force
    Verify(super::verify::Verify),
    /// Put together everything an auditor asks for, in one folder and one ZIP
    Dossier(super::dossier::Dossier),
    /// Print a completion script for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// A client file or an earlier visit: its identities are filled in, readings stay empty
    pub from: Option<PathBuf>,
    /// Only these loops of the client file or the earlier visit
    #[arg(long, value_name = "TAG")]
    pub tag: Vec<String>,
    /// Write to this file (never over an existing one) instead of the output stream
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// What `check` and `issue` have in common.
#[derive(Debug, Args)]
pub struct Common {
    /// Visit files, and folders with visit files
    #[arg(required = true, value_name = "FILE|FOLDER")]
    pub paths: Vec<PathBuf>,
    /// The issuing firm (default: firm.yaml in the visit's folder or the folder above it)
    #[arg(long, value_name = "FILE")]
    pub firm: Option<PathBuf>,
    /// Judge by these limits instead of those that the files name
    #[arg(long, value_name = "FILE")]
    pub limits: Option<PathBuf>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Print problems only
    #[arg(long, short)]
    pub quiet: bool,
    /// Visits worked on at the same time (default: as many as processors)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
    /// Problems on one line each, for editors
    #[arg(long)]
    pub brief: bool,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub common: Common,
}

/// Arguments of `issue`.
#[derive(Debug, Args)]
pub struct Issue {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub common: Common,
    /// Folder for the certificates
    #[arg(long, value_name = "FOLDER", default_value = "certificates")]
    pub out: PathBuf,
    /// Folder of the register of everything issued (default: `register` in the folder for the certificates)
    #[arg(long, value_name = "FOLDER")]
    pub register: Option<PathBuf>,
    /// Moment of issue, with offset (default: now)
    #[arg(long, value_name = "TIME")]
    pub issued: Option<String>,
    /// Vouch for the register with this private key (Ed25519, PEM) at the end of the run
    #[arg(long, value_name = "KEY")]
    pub sign: Option<PathBuf>,
    /// Issue amendments: the visit was corrected, and what was issued of it is replaced
    #[arg(long, requires_all = ["reason", "by"])]
    pub amend: bool,
    /// Why the amendment is made
    #[arg(long, value_name = "TEXT", requires = "amend", value_parser = said)]
    pub reason: Option<String>,
    /// Who asked for the amendment
    #[arg(long, value_name = "NAME", requires = "amend", value_parser = said)]
    pub by: Option<String>,
    /// The document to replace, where the number of the visit or the tag itself was wrong
    #[arg(long, value_name = "NUMBER", requires = "amend")]
    pub replaces: Option<String>,
}

/// A text that says something.
pub(super) fn said(text: &str) -> Result<String, String> {
    let text = text.trim();
    let is_line = !text.is_empty() && !text.chars().any(char::is_control);
    is_line.then(|| text.to_owned()).ok_or_else(|| "a line of text is needed".to_owned())
}

/// Which documents of a register are meant.
#[derive(Debug, Args)]
pub struct Which {
    /// Only this client, as named in its file
    #[arg(long, value_name = "NAME")]
    pub client: Vec<String>,
    /// Only this loop
    #[arg(long, value_name = "TAG")]
    pub tag: Vec<String>,
    /// Only work done on this day or later
    #[arg(long, value_name = "DATE", value_parser = super::lookup::day)]
    pub from: Option<NaiveDate>,
    /// Only work done on this day or earlier
    #[arg(long, value_name = "DATE", value_parser = super::lookup::day)]
    pub to: Option<NaiveDate>,
}

/// What is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// One record a line
    Json,
}
