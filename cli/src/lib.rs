//! CLI.
