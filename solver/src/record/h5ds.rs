//! Dimension scales: which array holds the coordinates of which axis.
//!
//! The calls live in HDF5's high-level library, which `hdf5-sys` links and nobody declares. This is the only file of the crate that
//! leaves safe Rust.
#![expect(unsafe_code, reason = "calls into the C library, wrapped below")]

use hdf5::{Dataset, Result};
use hdf5_sys::h5::{herr_t, htri_t};
use hdf5_sys::h5i::hid_t;
use std::ffi::{CString, c_char, c_uint};

unsafe extern "C" {
    fn H5DSset_scale(scale: hid_t, name: *const c_char) -> herr_t;
    fn H5DSattach_scale(dataset: hid_t, scale: hid_t, axis: c_uint) -> herr_t;
    fn H5DSis_scale(dataset: hid_t) -> htri_t;
    fn H5DSis_attached(dataset: hid_t, scale: hid_t, axis: c_uint) -> htri_t;
}

/// Makes a one-dimensional data set the coordinates of the dimension `name`.
pub(super) fn set_scale(scale: &Dataset, name: &str) -> Result<()> {
    let c_name = CString::new(name).map_err(|_| hdf5::Error::Internal(format!("dimension {name:?} holds a NUL")))?;
    // SAFETY: `scale` is open for as long as it is borrowed, `c_name` ends with NUL and outlives the call, and `sync` holds the lock that
    // every other call into the library takes.
    let status = hdf5::sync::sync(|| unsafe { H5DSset_scale(scale.id(), c_name.as_ptr()) });
    answer(status, || format!("cannot make `{name}` a dimension scale"))
}

/// Attaches a scale to axis `axis` of `dataset`, the first axis being 0.
pub(super) fn attach(dataset: &Dataset, scale: &Dataset, axis: c_uint) -> Result<()> {
    // SAFETY: both data sets are open for as long as they are borrowed, and `sync` holds the lock that every other call takes. An axis that
    // does not exist is answered with an error.
    let status = hdf5::sync::sync(|| unsafe { H5DSattach_scale(dataset.id(), scale.id(), axis) });
    answer(status, || format!("cannot attach `{}` to axis {axis} of `{}`", scale.name(), dataset.name()))
}

/// Whether a data set is a dimension scale.
pub(super) fn is_scale(dataset: &Dataset) -> Result<bool> {
    // SAFETY: as in `attach`, with one data set.
    let status = hdf5::sync::sync(|| unsafe { H5DSis_scale(dataset.id()) });
    answer(status, || format!("cannot tell whether `{}` is a dimension scale", dataset.name()))?;
    Ok(status > 0)
}

/// Whether `scale` gives the coordinates of axis `axis` of `dataset`.
pub(super) fn is_attached(dataset: &Dataset, scale: &Dataset, axis: c_uint) -> Result<bool> {
    // SAFETY: as in `attach`.
    let status = hdf5::sync::sync(|| unsafe { H5DSis_attached(dataset.id(), scale.id(), axis) });
    answer(status, || format!("cannot read the scales of `{}`", dataset.name()))?;
    Ok(status > 0)
}

fn answer(status: herr_t, failure: impl FnOnce() -> String) -> Result<()> {
    if status < 0 { Err(hdf5::Error::Internal(failure())) } else { Ok(()) }
}
