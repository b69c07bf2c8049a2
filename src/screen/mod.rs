//! Room: screen.
