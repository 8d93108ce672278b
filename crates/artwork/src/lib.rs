//! artwork
