//! Tables of walls that were built before: a table takes longer than all else of a duct, and the cases of a study, or of a ramp, have nearly all
//! of theirs in common.

use crate::flow::{WallTable, wall_law};
use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

/// Tables that are kept, of 16 kB each.
const MOST: usize = 512;

static KNOWN: LazyLock<Mutex<HashMap<Wall, WallTable>>> = LazyLock::new(Mutex::default);

/// All that decides on the table of a wall, bit by bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Wall([u64; 5]);

/// Friction of a `relative_roughness` (sand roughness / hydraulic diameter), and film at a `prandtl` number and a `slenderness` (hydraulic diameter /
/// length), each times its factor.
pub(super) fn wall_table(factors: [f64; 2], relative_roughness: f64, prandtl: f64, slenderness: f64) -> WallTable {
    let [friction, film] = factors;
    let wall = Wall([friction, film, relative_roughness, prandtl, slenderness].map(f64::to_bits));
    // A thread that panicked has left whole tables.
    let known = || KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    let found = known().get(&wall).cloned();
    found.unwrap_or_else(|| {
        let table = WallTable::new(
            |reynolds| friction * wall_law::churchill(reynolds, relative_roughness),
            |reynolds| film * wall_law::film(reynolds, prandtl, slenderness),
        );
        let mut known = known();
        if known.len() >= MOST {
            known.clear();
        }
        known.insert(wall, table.clone());
        table
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_the_same_whether_it_was_known_or_not() {
        let table = |factor: f64, slenderness: f64| wall_table([factor, 1.0], 1e-3, 0.71, slenderness);
        let first = table(1.1, 0.1);
        // So many others that it has been forgotten in between.
        (0..=MOST).for_each(|number| drop(table(1.0, 0.1 + number as f64)));
        assert_eq!(table(1.1, 0.1), first);
        assert_eq!(table(1.1, 0.1), first);
        assert_ne!(table(1.1, 0.2), first);
        assert!((first.friction(0.0) - 1.1 * 64.0).abs() < 1e-5 && table(0.0, 0.1).friction(1e5).abs() <= 0.0);
        let twice = wall_table([1.1, 2.0], 1e-3, 0.71, 0.1);
        assert!((twice.nusselt(1e5) / first.nusselt(1e5) - 2.0).abs() < 1e-6);
        assert!((twice.friction(1e5) / first.friction(1e5) - 1.0).abs() < 1e-12);
    }
}
