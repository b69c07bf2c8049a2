//! Room: logbook.
