//! The edge of a duct's end, where it leaves a volume or the outside.

use super::{Edge, optional};
use crate::fields::{Fields, Key, Range, Value};
use crate::quantity::Dimension;

/// Keys of `inlet` and `outlet`.
pub(super) const KEYS: &[Key] = &[
    optional(
        "shape",
        Value::Word(&["sharp", "protruding", "rounded", "flared"]),
        "sharp",
        "sharp: flush with a wall, K 0.5; protruding: thin tube end in the volume, K 1.0; rounded: flush, or with a flange behind the \
         radius; flared: rim standing free (all on the duct's velocity, Idelchik diagrams 3)",
    ),
    optional(
        "radius",
        Value::Quantity(Dimension::Length, Range::Positive),
        "none; must stand for rounded and flared",
        "radius of the rounding or flare",
    ),
];

/// Reads the edge at `key`; sharp when it is absent.
pub(super) fn read(fields: &Fields<'_>, key: &'static str) -> Option<Edge> {
    if !fields.has(key) {
        return Some(Edge::Sharp);
    }
    let edge = fields.map(key)?;
    let shape = if edge.has("shape") { edge.word("shape")? } else { "sharp" };
    let rounded = matches!(shape, "rounded" | "flared");
    if rounded != edge.has("radius") {
        let (found, expected) = if rounded { ("nothing", "a radius") } else { ("a radius", "none") };
        edge.problem("radius", found, format!("{expected} for a {shape} edge"));
        return None;
    }
    Some(match shape {
        "protruding" => Edge::Protruding,
        "rounded" => Edge::Rounded(edge.si("radius")?),
        "flared" => Edge::Flared(edge.si("radius")?),
        _ => Edge::Sharp,
    })
}
