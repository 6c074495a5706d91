//! A fresh result file: groups, axes, variables, attributes and scales, all before the first row.

use super::attribute::{self, Attribute, unicode};
use super::layout::{Axis, Coordinates, Group, Layout, Precision, Series};
use super::{FORMAT_VERSION, h5ds};
use hdf5::plist::attribute_create::CharEncoding;
use hdf5::types::VarLenUnicode;
use hdf5::{Dataset, Extent, File, FileBuilder, Location, Result};
use std::path::Path;

/// Strength of compression, 0 to 9; beyond 4 files hardly shrink.
pub(super) const DEFLATE_LEVEL: u8 = 4;

/// Creates the file and everything in it; returns with no row.
pub(super) fn create(path: &Path, layout: &Layout) -> Result<File> {
    let file = access().create_excl(path)?;
    write_root(&file, layout)?;
    let rows = layout.rows_at_once();
    let time = create_time(&file, rows)?;
    for (order, group) in (0..).zip(&layout.groups) {
        let parent = create_group(&file, group, order)?;
        group.series.iter().try_for_each(|series| create_series(&parent, group, series, rows, &time))?;
    }
    file.flush()?;
    Ok(file)
}

/// Opens a file that was created before, to go on with it.
pub(super) fn reopen(path: &Path) -> Result<File> {
    access().open_rw(path)
}

pub(super) fn access() -> FileBuilder {
    let mut builder = FileBuilder::new();
    // The earliest format has no flag that a killed process leaves set, and every reader knows it. Chunks are written whole, so that
    // keeping them in a cache would only cost memory. `Lock` keeps a second writer out; HDF5's own lock fails on some network file
    // systems and passes on to child processes.
    builder.with_fapl(|access| access.libver_earliest().chunk_cache(1, 0, 1.0).file_locking(false));
    builder
}

fn write_root(file: &File, layout: &Layout) -> Result<()> {
    for (name, value) in &layout.attributes {
        attribute::write(file, name, value)?;
    }
    attribute::write(file, "Conventions", &Attribute::from("CF-1.11"))?;
    attribute::write(file, "format_version", &Attribute::Whole(FORMAT_VERSION))?;
    attribute::write(file, "finished", &Attribute::Whole(0))?;
    let case = file.new_dataset::<VarLenUnicode>().obj_track_times(false).create("case")?;
    case.write_scalar(&unicode(&layout.case)?)?;
    attribute::write(&case, "long_name", &Attribute::from("the whole case, every default filled in"))?;
    // Text has no checksum of HDF5's own.
    attribute::write(&case, "crc32", &Attribute::Whole(crc32fast::hash(layout.case.as_bytes()).into()))?;
    let rows_valid = file.new_dataset::<u64>().obj_track_times(false).create("rows_valid")?;
    rows_valid.write_scalar(&0_u64)?;
    describe(&rows_valid, "1", "number of rows that are complete")
}

fn create_time(file: &File, rows: usize) -> Result<Dataset> {
    let time = create_numeric(file, "time", Precision::F64, &Shape::growing(rows, None))?;
    // Spelt in full, some readers take it for a time span and round it to nanoseconds.
    describe(&time, "s", "simulated time")?;
    h5ds::set_scale(&time, "time")?;
    Ok(time)
}

/// `order` is the group's place in the layout, since HDF5 lists groups by name.
fn create_group(file: &File, layout: &Group, order: i64) -> Result<hdf5::Group> {
    let group = file.create_group_builder().char_encoding(CharEncoding::Utf8).obj_track_times(false);
    let group = group.create(layout.name.as_str())?;
    for (name, value) in &layout.attributes {
        attribute::write(&group, name, value)?;
    }
    attribute::write(&group, "kind", &Attribute::from(layout.kind.as_str()))?;
    attribute::write(&group, "order", &Attribute::Whole(order))?;
    for axis in &layout.axes {
        create_axis(&group, axis)?;
    }
    for constant in &layout.constants {
        let dataset = create_numeric(&group, &constant.name, Precision::F64, &Shape::fixed(constant.values.len()))?;
        dataset.write(constant.values.as_slice())?;
        describe(&dataset, &constant.units, &constant.long_name)?;
        mark_missing(&dataset, Precision::F64)?;
        h5ds::attach(&dataset, &group.dataset(&constant.axis)?, 0)?;
    }
    Ok(group)
}

fn create_axis(group: &hdf5::Group, axis: &Axis) -> Result<()> {
    let dataset = match &axis.coordinates {
        Coordinates::Numbers(numbers) => {
            let dataset = create_numeric(group, &axis.name, Precision::F64, &Shape::fixed(numbers.len()))?;
            dataset.write(numbers.as_slice())?;
            attribute::write(&dataset, "units", &Attribute::from(axis.units.as_str()))?;
            dataset
        }
        Coordinates::Names(names) => {
            let names = names.iter().map(|name| unicode(name)).collect::<Result<Vec<_>>>()?;
            let builder = group.new_dataset::<VarLenUnicode>().obj_track_times(false).shape(names.len());
            let dataset = builder.char_encoding(CharEncoding::Utf8).create(axis.name.as_str())?;
            dataset.write(names.as_slice())?;
            dataset
        }
    };
    attribute::write(&dataset, "long_name", &Attribute::from(axis.long_name.as_str()))?;
    h5ds::set_scale(&dataset, &axis.name)
}

fn create_series(parent: &hdf5::Group, group: &Group, series: &Series, rows: usize, time: &Dataset) -> Result<()> {
    let width = series.axis.as_ref().map(|_| group.width(series));
    let dataset = create_numeric(parent, &series.name, series.precision, &Shape::growing(rows, width))?;
    describe(&dataset, &series.units, &series.long_name)?;
    mark_missing(&dataset, series.precision)?;
    h5ds::attach(&dataset, time, 0)?;
    match &series.axis {
        Some(axis) => h5ds::attach(&dataset, &parent.dataset(axis)?, 1),
        None => Ok(()),
    }
}

/// Extents of an array and of its chunks.
struct Shape {
    extents: Vec<Extent>,
    chunk: Vec<usize>,
}

impl Shape {
    fn fixed(points: usize) -> Self {
        Self { extents: vec![Extent::fixed(points)], chunk: vec![points] }
    }

    /// No row yet, chunks of `rows`.
    fn growing(rows: usize, width: Option<usize>) -> Self {
        let points = width.map(Extent::fixed);
        Self {
            extents: std::iter::once(Extent::resizable(0)).chain(points).collect(),
            chunk: std::iter::once(rows).chain(width).collect(),
        }
    }
}

fn create_numeric(group: &hdf5::Group, name: &str, precision: Precision, shape: &Shape) -> Result<Dataset> {
    let builder = group.new_dataset_builder().obj_track_times(false).char_encoding(CharEncoding::Utf8);
    let builder = builder.chunk(shape.chunk.clone()).shuffle().deflate(DEFLATE_LEVEL).fletcher32();
    match precision {
        Precision::F32 => builder.fill_value(f32::NAN).empty::<f32>().shape(shape.extents.clone()).create(name),
        Precision::F64 => builder.fill_value(f64::NAN).empty::<f64>().shape(shape.extents.clone()).create(name),
    }
}

pub(super) fn describe(location: &Location, units: &str, long_name: &str) -> Result<()> {
    attribute::write(location, "units", &Attribute::from(units))?;
    attribute::write(location, "long_name", &Attribute::from(long_name))
}

/// netCDF's own name for the fill value, in the type of the variable. Coordinates have none: CF, section 2.5.1.
fn mark_missing(dataset: &Dataset, precision: Precision) -> Result<()> {
    match precision {
        Precision::F32 => dataset.new_attr::<f32>().create("_FillValue")?.write_scalar(&f32::NAN),
        Precision::F64 => dataset.new_attr::<f64>().create("_FillValue")?.write_scalar(&f64::NAN),
    }
}
