//! A step allocates nothing.

use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicU64, Ordering};
use tractwright::case::Case;
use tractwright::march::Acoustic;

/// Allocations so far.
static COUNT: AtomicU64 = AtomicU64::new(0);

struct Counting;

#[expect(unsafe_code, reason = "an allocator can be counted only from inside")]
// SAFETY: every call is handed on unchanged to the system's allocator, which keeps the contract.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        COUNT.fetch_add(1, Ordering::Relaxed);
        // SAFETY: the caller keeps the contract of `alloc`.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: the pointer came from `alloc` above, that is from the system's allocator.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// A box with a wye behind it, a filter, and two draws.
fn case(predictor: &str) -> Case {
    let text = format!(
        "
points: {{road: {{speed: 45 m/s}}}}
parts:
  nose: {{kind: scoop, area: 90 cm2, recovery: 0.7, lip_radius: 4 mm}}
  snout: {{kind: duct, length: 300 mm, diameter: 100 mm}}
  box: {{kind: plenum, volume: 5 L}}
  panel: {{kind: filter, media_area: 0.9 m2, curve: {{flow: 120 240 360 g/s, drop: 150 360 630 Pa, at: [20 degC, 101.3 kPa]}}}}
  clean: {{kind: plenum, volume: 4 L}}
  trunk: {{kind: duct, length: 180 mm, diameter: 92 mm, wall: {{temperature: 48 degC}}}}
  split: {{kind: wye, legs: {{trunk: 0 deg, left: 45 deg, right: -45 deg}}}}
  left: {{kind: duct, length: 300 mm, diameter: 70 mm}}
  left_turbo: {{kind: draw, corrected_flow: 200 g/s}}
  right: {{like: left}}
  right_turbo: {{like: left_turbo}}
flow:
  - [nose, snout, box, panel, clean, trunk, split.trunk]
  - [split.left, left, left_turbo]
  - [split.right, right, right_turbo]
run: {{until: 1 s, cell: 10 mm, predictor: {predictor}}}
"
    );
    Case::from_text("allocation", &text).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_step_allocates_nothing() {
    for predictor in ["none", "hancock"] {
        let built = case(predictor).build("road").expect("a network");
        let mut march = Acoustic::new(&built.network, built.initial.clone(), built.settings);
        march.start().expect("a state");
        march.step(1.0).expect("a step");
        let before = COUNT.load(Ordering::Relaxed);
        for _ in 0..50 {
            march.step(1.0).expect("a step");
        }
        assert_eq!(COUNT.load(Ordering::Relaxed) - before, 0, "predictor {predictor}");
        assert!(before > 0, "the counter counts");
    }
}
