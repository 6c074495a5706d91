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

#[test]
fn a_step_allocates_nothing() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../cases/coupe/shared_panel.yaml");
    let case = Case::from_path(path.as_ref()).expect("a case");
    let built = case.build("road").expect("a network");
    let mut march = Acoustic::new(&built.network, built.initial.clone(), built.settings);
    march.start().expect("a state");
    march.step(1.0).expect("a step");
    let before = COUNT.load(Ordering::Relaxed);
    for _ in 0..50 {
        march.step(1.0).expect("a step");
    }
    assert_eq!(COUNT.load(Ordering::Relaxed) - before, 0);
    assert!(before > 0, "the counter counts");
}
