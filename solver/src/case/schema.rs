//! The form of a case as a JSON Schema, for completion in editors.

/// JSON Schema (draft 7) of a case.
#[must_use]
pub fn schema() -> String {
    String::new()
}
