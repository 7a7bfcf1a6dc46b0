//! The client file: who the loops belong to, where they stand, and the roster of their identities.
//!
//! Comes in: the tree of a client file, or the mapping under `visit.client`. Goes out: a [`Client`] and every problem of
//! the file. Next: [`crate::visit`], which takes a loop's identity from the roster.

use crate::quantity::{Date, Measured, MicrosiemensPerCm, Plain};
use crate::yaml::Text;

/// A client and its loops.
#[derive(Debug, Clone, PartialEq)]
pub struct Client {
    /// Name of the client.
    pub name: Text,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Person or address to write to.
    pub contact: Option<Text>,
    /// Path of the limits that hold for this client, relative to the client file.
    pub limits: Option<Text>,
    /// Sites by the short name the visit uses.
    pub sites: Vec<Site>,
    /// Roster of loops.
    pub loops: Vec<RosterLoop>,
}

/// A site of a client.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Short name (`works`), empty where the visit gives free text.
    pub key: String,
    /// Name as printed.
    pub name: String,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Time zone name as given; kept and printed, not computed with.
    pub time_zone: Option<Text>,
}

/// What the roster knows of one loop.
#[derive(Debug, Clone, PartialEq)]
pub struct RosterLoop {
    /// Tag of the measuring point.
    pub tag: Text,
    /// Short name of its site.
    pub site: Option<Text>,
    /// The rest of the identity.
    pub identity: Identity,
    /// Path of the limits that hold for this loop, relative to the client file.
    pub limits: Option<Text>,
}

/// The identity of a loop; the same keys stand in the roster and in the visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Identity {
    /// pH or redox.
    pub quantity: Option<LoopQuantity>,
    /// Where the measuring point is.
    pub location: Option<Text>,
    /// Range of the output, low and high end, in pH or mV.
    pub range: Option<[Measured<Plain>; 2]>,
    /// Output signal.
    pub output: Option<OutputSignal>,
    /// Analyser (transmitter).
    pub analyser: Option<Device>,
    /// Probe.
    pub probe: Option<Probe>,
    /// Usual process values, low and high, in pH or mV.
    pub usual: Option<[Measured<Plain>; 2]>,
    /// Usual conductivity of the process.
    pub conductivity: Option<Measured<MicrosiemensPerCm>>,
}

/// What the loop measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoopQuantity {
    /// pH by glass electrode.
    Ph,
    /// Redox potential (ORP) by metal electrode.
    Redox,
}

/// Output signal of an analyser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutputSignal {
    /// 4 mA at the low end of the range.
    FourToTwenty,
    /// 20 mA at the low end of the range.
    TwentyToFour,
}

/// Make, model and serial of a device.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Device {
    /// Maker.
    pub make: Option<Text>,
    /// Model.
    pub model: Option<Text>,
    /// Serial number as read from the plate.
    pub serial: Option<Text>,
}

/// A probe (electrode) with what is known of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Probe {
    /// Make, model, serial.
    pub device: Device,
    /// Reference electrode, a name of `reference`.
    pub reference: Option<Text>,
    /// Temperature element: `Pt100`, `Pt1000` or another as typed.
    pub temperature_element: Option<Text>,
    /// Day of installation.
    pub installed: Option<Date>,
    /// Day the junction was last renewed.
    pub junction_renewed: Option<Date>,
    /// Condition as received.
    pub condition: Option<Text>,
}
