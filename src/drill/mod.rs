//! Room: drill.
