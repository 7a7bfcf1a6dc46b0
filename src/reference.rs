//! (room of this name)
