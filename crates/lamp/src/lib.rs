//! lamp
