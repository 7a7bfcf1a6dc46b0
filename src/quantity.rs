//! Measured numbers as a person typed them: value, unit, digits and place.
//!
//! Comes in: the text of a leaf. Goes out: a [`Measured`] value in the default unit of its key, with the step of the
//! last digit typed. Next: the checks of visit, client, kit, limits and firm.

use crate::problem::Place;
use std::marker::PhantomData;

/// A unit that a key of the files may have: its symbol and the spellings that are converted to it.
pub trait Unit: Copy + std::fmt::Debug + PartialEq + 'static {
    /// Symbol as printed, empty for pH.
    const SYMBOL: &'static str;
    /// Spellings accepted after a number with factor and offset: value = typed · factor + offset.
    const ACCEPTED: &'static [(&'static str, f64, f64)];
}

/// pH, without unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ph;
/// Potential in mV.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Millivolt;
/// Temperature in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Celsius;
/// Temperature difference in °C (1 °F = 5/9 °C, 1 K = 1 °C).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CelsiusDifference;
/// Percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Percent;
/// Time in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Second;
/// Current in mA.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Milliampere;
/// Resistance in Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ohm;
/// Conductivity in µS/cm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MicrosiemensPerCm;
/// Age in months.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Month;
/// Time in days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day;
/// A number without unit (a factor, a count).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plain;

// (impls of Unit: written by the owner of this room)

/// A number as typed: finite, in the unit `U`.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured<U: Unit> {
    /// The value in the unit `U`.
    pub value: f64,
    /// Step of the last digit typed, in `U`: `168` → 1, `168.0` → 0.1, `0.0083 V` → 0.1 mV.
    pub step: f64,
    /// The text as typed, unit included where one was typed.
    pub text: String,
    /// Where it stands.
    pub place: Place,
    /// The unit.
    pub unit: PhantomData<U>,
}
