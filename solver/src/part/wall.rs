//! A wall: a closed end.

use super::{Kind, Part};

pub(super) const KIND: Kind =
    Kind { name: "wall", about: "a closed end", keys: &[], read: |_| Some(Part::Wall), example: "{kind: wall}" };
