//! Tests of the kernel as a whole.
