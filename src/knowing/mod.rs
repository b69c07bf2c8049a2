//! Room: knowing.
