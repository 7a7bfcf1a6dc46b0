//! Reference data (placeholder until merged).
/// Buffer.
#[derive(Debug, Clone, PartialEq)]
pub struct BufferValue;
/// Redox.
#[derive(Debug, Clone, PartialEq)]
pub struct RedoxSolution;
