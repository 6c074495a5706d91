//! Workspace tests.
