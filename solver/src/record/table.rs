//! A table in an HDF5 file: columns of one length, each with its unit, that xarray opens as variables along one dimension.

use super::attribute::{self, Attribute, unicode};
use super::create::{DEFLATE_LEVEL, access, describe};
use super::{FORMAT_VERSION, failure, h5ds, publish, seal};
use crate::error::OutputError;
use hdf5::plist::attribute_create::CharEncoding;
use hdf5::types::VarLenUnicode;
use hdf5::{Dataset, File, Result};
use std::fmt;
use std::path::Path;

/// Rows of a chunk.
const CHUNK: usize = 4096;

/// A table whose rows are asked for one after another when they are written, so that it takes no more memory with more of them.
pub struct Table<'a, R> {
    /// Name of its one dimension.
    pub dimension: String,
    /// Facts about the whole.
    pub attributes: Vec<(String, Attribute)>,
    /// Columns.
    pub columns: Vec<Column<'a, R>>,
    /// Number of rows, at least one.
    pub rows: usize,
    /// The row of a number.
    pub row: Box<dyn Fn(usize) -> R + 'a>,
}

/// A column.
#[derive(Debug)]
pub struct Column<'a, R> {
    /// Name.
    pub name: String,
    /// Unit; `1` for a ratio, empty for texts.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Its values.
    pub values: Values<'a, R>,
}

/// Values of a column: what stands in a row.
pub enum Values<'a, R> {
    /// A number; NaN where there is none.
    Number(Box<dyn Fn(&R) -> f64 + 'a>),
    /// A whole number.
    Whole(Box<dyn Fn(&R) -> i64 + 'a>),
    /// A text.
    Text(Box<dyn Fn(&R) -> String + 'a>),
}

impl<R: fmt::Debug> fmt::Debug for Table<'_, R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut table = f.debug_struct("Table");
        table.field("dimension", &self.dimension).field("attributes", &self.attributes);
        table.field("columns", &self.columns).field("rows", &self.rows).finish_non_exhaustive()
    }
}

impl<R> fmt::Debug for Values<'_, R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Number(_) => "Number",
            Self::Whole(_) => "Whole",
            Self::Text(_) => "Text",
        })
    }
}

impl<R> Table<'_, R> {
    /// Writes the table whole or not at all, with a checksum as its last line.
    ///
    /// # Errors
    /// [`OutputError::Content`] when there is no row, else the reason of the disk. Nothing is left behind then.
    pub fn publish(&self, path: &Path) -> std::result::Result<(), OutputError> {
        if self.rows == 0 {
            return Err(failure::content(path, "no row", "a table with at least one row"));
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
        let row = numeric::<i64>(&file, &self.dimension, self.rows)?;
        describe(&row, "1", "number of the row")?;
        h5ds::set_scale(&row, &self.dimension)?;
        let datasets =
            self.columns.iter().map(|column| self.create(&file, column, &row)).collect::<Result<Vec<_>>>()?;
        for start in (0..self.rows).step_by(CHUNK) {
            let here = start..(start + CHUNK).min(self.rows);
            let numbers: Vec<i64> = (start as i64..).take(here.len()).collect();
            row.write_slice(&numbers, here.clone())?;
            let rows: Vec<R> = here.clone().map(&self.row).collect();
            for (column, dataset) in self.columns.iter().zip(&datasets) {
                match &column.values {
                    Values::Number(of) => {
                        dataset.write_slice(&rows.iter().map(of).collect::<Vec<_>>(), here.clone())?
                    }
                    Values::Whole(of) => dataset.write_slice(&rows.iter().map(of).collect::<Vec<_>>(), here.clone())?,
                    Values::Text(of) => {
                        let texts = rows.iter().map(|row| unicode(&of(row))).collect::<Result<Vec<_>>>()?;
                        dataset.write_slice(&texts, here.clone())?;
                    }
                }
            }
        }
        file.close()
    }

    /// The dataset of a column, along `row`, without its values.
    fn create(&self, file: &File, column: &Column<'_, R>, row: &Dataset) -> Result<Dataset> {
        let dataset = match &column.values {
            Values::Number(_) => {
                let dataset = numeric::<f64>(file, &column.name, self.rows)?;
                dataset.new_attr::<f64>().create("_FillValue")?.write_scalar(&f64::NAN)?;
                dataset
            }
            Values::Whole(_) => numeric::<i64>(file, &column.name, self.rows)?,
            Values::Text(_) => {
                let builder = file.new_dataset::<VarLenUnicode>().obj_track_times(false).shape(self.rows);
                builder.char_encoding(CharEncoding::Utf8).create(column.name.as_str())?
            }
        };
        if !column.units.is_empty() {
            attribute::write(&dataset, "units", &Attribute::from(column.units.as_str()))?;
        }
        attribute::write(&dataset, "long_name", &Attribute::from(column.long_name.as_str()))?;
        h5ds::attach(&dataset, row, 0)?;
        Ok(dataset)
    }
}

fn numeric<T: hdf5::H5Type>(file: &File, name: &str, rows: usize) -> Result<Dataset> {
    let builder = file.new_dataset::<T>().obj_track_times(false).char_encoding(CharEncoding::Utf8);
    let builder = builder.chunk(rows.min(CHUNK)).shuffle().deflate(DEFLATE_LEVEL).fletcher32();
    builder.shape(rows).create(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hdf5::types::VarLenUnicode;

    fn table(rows: usize) -> Table<'static, usize> {
        let column = |name: &str, values| Column {
            name: name.to_owned(),
            units: "1".to_owned(),
            long_name: name.to_owned(),
            values,
        };
        let number = Values::Number(Box::new(|row: &usize| *row as f64 / 3.0));
        let text = Values::Text(Box::new(|row: &usize| format!("Läufe {row}")));
        Table {
            dimension: "run".to_owned(),
            attributes: vec![("title".to_owned(), Attribute::from("a study"))],
            columns: vec![column("power", number), column("layout", text)],
            rows,
            row: Box::new(|number| number),
        }
    }

    #[test]
    fn what_is_written_comes_back_and_replaces_the_old() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.h5");
        for rows in [1, CHUNK, 2 * CHUNK + 7] {
            table(rows).publish(&path).unwrap();
            assert!(seal::check(&path).unwrap());
            let file = File::open(&path).unwrap();
            let numbers: Vec<i64> = file.dataset("run").unwrap().read_raw().unwrap();
            assert_eq!(numbers, (0..).take(rows).collect::<Vec<i64>>());
            let power: Vec<f64> = file.dataset("power").unwrap().read_raw().unwrap();
            assert_eq!(power, (0..rows).map(|row| row as f64 / 3.0).collect::<Vec<_>>());
            let layout: Vec<VarLenUnicode> = file.dataset("layout").unwrap().read_raw().unwrap();
            for row in [0, rows / 2, rows - 1] {
                assert_eq!(layout[row].as_str(), format!("Läufe {row}"));
            }
            assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn a_table_without_a_row_is_refused_and_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        assert!(table(0).publish(&folder.path().join("table.h5")).is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
