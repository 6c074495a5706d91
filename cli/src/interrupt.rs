//! Ctrl-C and the signal by which a batch system ends a program.
//!
//! The first one asks the runs to save their state and stop; the second ends the process at once.

use crate::exit;
use std::sync::Once;
use std::sync::atomic::{AtomicUsize, Ordering};

static REQUESTS: AtomicUsize = AtomicUsize::new(0);
static INSTALLED: Once = Once::new();

/// Listens from now on; what came before is forgotten.
pub(crate) fn listen() {
    REQUESTS.store(0, Ordering::SeqCst);
    INSTALLED.call_once(|| {
        // Without a handler the program still runs; a signal then ends it at once and the last checkpoint remains.
        let _ = ctrlc::set_handler(handle);
    });
}

/// Whether the runs shall stop.
pub(crate) fn requested() -> bool {
    REQUESTS.load(Ordering::Relaxed) > 0
}

fn handle() {
    if REQUESTS.fetch_add(1, Ordering::SeqCst) > 0 {
        std::process::exit(i32::from(exit::INTERRUPTED));
    }
    eprintln!("stopping: saving the state of the runs (once more to stop at once)");
}
