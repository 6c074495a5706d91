//! A table in an HDF5 file: columns of one length, each with its unit, that xarray opens as variables along one dimension.

use super::attribute::{self, Attribute, unicode};
use super::create::{DEFLATE_LEVEL, access, describe};
use super::{FORMAT_VERSION, failure, h5ds, publish, seal};
use crate::error::OutputError;
use hdf5::plist::attribute_create::CharEncoding;
use hdf5::types::VarLenUnicode;
use hdf5::{File, Result};
use std::path::Path;

/// Rows of a chunk.
const CHUNK: usize = 4096;

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Name of its one dimension.
    pub dimension: String,
    /// Facts about the whole.
    pub attributes: Vec<(String, Attribute)>,
    /// Columns of one length, at least one row.
    pub columns: Vec<Column>,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Name.
    pub name: String,
    /// Unit; `1` for a ratio, empty for texts.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Its values.
    pub values: Values,
}

/// Values of a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// Numbers; NaN where there is none.
    Numbers(Vec<f64>),
    /// Whole numbers.
    Whole(Vec<i64>),
    /// Texts.
    Texts(Vec<String>),
}

impl Values {
    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Self::Numbers(values) => values.len(),
            Self::Whole(values) => values.len(),
            Self::Texts(values) => values.len(),
        }
    }

    /// Whether there is no row.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

impl Table {
    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |column| column.values.len())
    }

    /// Writes the table whole or not at all, with a checksum as its last line.
    ///
    /// # Errors
    /// [`OutputError::Content`] when columns differ in length or there is no row, else the reason of the disk. Nothing is left behind then.
    pub fn publish(&self, path: &Path) -> std::result::Result<(), OutputError> {
        let rows = self.rows();
        if rows == 0 || self.columns.iter().any(|column| column.values.len() != rows) {
            let found = format!("columns of {:?} rows", self.columns.iter().map(|column| column.values.len()).max());
            return Err(failure::content(path, found, "columns of one length, with at least one row"));
        }
        let temporary = publish::temporary(path).map_err(failure::file(path))?;
        let written = self.write(&temporary).map_err(|source| failure::hdf5(&temporary, source));
        let written = written.and_then(|()| seal::close(&temporary));
        let written = written.and_then(|()| publish::promote(&temporary, path).map_err(failure::file(path)));
        if written.is_err() {
            // The first error is the one to tell.
            let _ = std::fs::remove_file(&temporary);
        }
        written
    }

    fn write(&self, path: &Path) -> Result<()> {
        let file = access().create(path)?;
        for (name, value) in &self.attributes {
            attribute::write(&file, name, value)?;
        }
        attribute::write(&file, "Conventions", &Attribute::from("CF-1.11"))?;
        attribute::write(&file, "format_version", &Attribute::Whole(FORMAT_VERSION))?;
        let rows: Vec<i64> = (0..).take(self.rows()).collect();
        let row = numeric::<i64>(&file, &self.dimension, &rows)?;
        describe(&row, "1", "number of the row")?;
        h5ds::set_scale(&row, &self.dimension)?;
        for column in &self.columns {
            let dataset = match &column.values {
                Values::Numbers(values) => {
                    let dataset = numeric(&file, &column.name, values)?;
                    dataset.new_attr::<f64>().create("_FillValue")?.write_scalar(&f64::NAN)?;
                    dataset
                }
                Values::Whole(values) => numeric(&file, &column.name, values)?,
                Values::Texts(values) => {
                    let values = values.iter().map(|text| unicode(text)).collect::<Result<Vec<_>>>()?;
                    let builder = file.new_dataset::<VarLenUnicode>().obj_track_times(false).shape(values.len());
                    let dataset = builder.char_encoding(CharEncoding::Utf8).create(column.name.as_str())?;
                    dataset.write(values.as_slice())?;
                    dataset
                }
            };
            if !column.units.is_empty() {
                attribute::write(&dataset, "units", &Attribute::from(column.units.as_str()))?;
            }
            attribute::write(&dataset, "long_name", &Attribute::from(column.long_name.as_str()))?;
            h5ds::attach(&dataset, &row, 0)?;
        }
        file.close()
    }
}

fn numeric<T: hdf5::H5Type>(file: &File, name: &str, values: &[T]) -> Result<hdf5::Dataset> {
    let builder = file.new_dataset::<T>().obj_track_times(false).char_encoding(CharEncoding::Utf8);
    let builder = builder.chunk(values.len().min(CHUNK)).shuffle().deflate(DEFLATE_LEVEL).fletcher32();
    let dataset = builder.shape(values.len()).create(name)?;
    dataset.write(values)?;
    Ok(dataset)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hdf5::types::VarLenUnicode;

    fn table(rows: usize) -> Table {
        let column = |name: &str, values| Column {
            name: name.to_owned(),
            units: "1".to_owned(),
            long_name: name.to_owned(),
            values,
        };
        let numbers = (0..rows).map(|row| row as f64 / 3.0).collect();
        let texts = (0..rows).map(|row| format!("Läufe {row}")).collect();
        Table {
            dimension: "run".to_owned(),
            attributes: vec![("title".to_owned(), Attribute::from("a study"))],
            columns: vec![column("power", Values::Numbers(numbers)), column("layout", Values::Texts(texts))],
        }
    }

    #[test]
    fn what_is_written_comes_back_and_replaces_the_old() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.h5");
        for rows in [1, 5000] {
            table(rows).publish(&path).unwrap();
            assert!(seal::check(&path).unwrap());
            let file = File::open(&path).unwrap();
            let power: Vec<f64> = file.dataset("power").unwrap().read_raw().unwrap();
            assert_eq!(Values::Numbers(power), table(rows).columns[0].values);
            let layout: Vec<VarLenUnicode> = file.dataset("layout").unwrap().read_raw().unwrap();
            assert_eq!(layout[rows - 1].as_str(), format!("Läufe {}", rows - 1));
            assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn columns_of_two_lengths_are_refused_and_leave_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut uneven = table(2);
        uneven.columns.push(table(3).columns.remove(0));
        for table in [uneven, table(0)] {
            assert!(table.publish(&folder.path().join("table.h5")).is_err());
            assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        }
    }
}
