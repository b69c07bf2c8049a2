//! Room: roads.
