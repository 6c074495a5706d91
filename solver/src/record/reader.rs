//! Reading a result back: what it says of itself, and any of its variables.

use super::attribute::{self, Attribute};
use super::layout::{Layout, Precision};
use super::{FORMAT_VERSION, failure, h5ds, seal};
use crate::error::OutputError;
use hdf5::types::VarLenUnicode;
use hdf5::{Dataset, File, Location, MinorErrorCode};
use ndarray::{Array1, Array2, s};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Deflate packs a run of equal bytes at most 1032 to 1 (zlib's technical notes). An array that claims to hold more than this allows was
/// damaged, and nobody tries to find room for it.
const MOST_COMPRESSION: u64 = 1100;
/// Values that are held at one time while rows are verified.
const VERIFIED_AT_ONCE: usize = 1 << 18;

/// A result file that is open for reading; finished or not.
///
/// Only rows that were announced are shown. Every number is checked against its checksum when it is read.
#[derive(Debug)]
pub struct ResultFile {
    path: PathBuf,
    file: File,
    rows: usize,
    finished: bool,
    sealed: bool,
    case: String,
}

/// A variable of a group, as the file describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// Name.
    pub name: String,
    /// Unit in UDUNITS spelling; empty for names.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Names of its axes; an axis has itself.
    pub axes: Vec<String>,
    /// Its extents.
    pub shape: Vec<usize>,
}

impl ResultFile {
    /// Opens `<name>` or, of a run that is not finished, `<name>.part`.
    ///
    /// # Errors
    /// [`OutputError::File`] when it cannot be opened, [`OutputError::Content`] when it is no result of this program or is damaged.
    pub fn open(path: &Path) -> Result<Self, OutputError> {
        // First of all: the C library is not safe with a damaged file.
        let sealed = seal::check(path)?;
        let mut options = hdf5::FileBuilder::new();
        // What was announced is never changed again, so a run that goes on may be read.
        options.with_fapl(|access| access.file_locking(false));
        let file = options.open(path).map_err(|source| foreign(path, source))?;
        let mut result = Self { path: path.to_owned(), file, rows: 0, finished: false, sealed, case: String::new() };
        result.check_version()?;
        result.rows = result.read_rows()?;
        result.case = result.read_case()?;
        Ok(result)
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the run came to its end.
    #[must_use]
    pub fn finished(&self) -> bool {
        self.finished
    }

    /// Whether every byte was checked against the checksum of the whole file. A finished result that is not sealed was changed by
    /// another program; its values are still checked one by one.
    #[must_use]
    pub fn sealed(&self) -> bool {
        self.sealed
    }

    /// The whole resolved case, as text.
    #[must_use]
    pub fn case(&self) -> &str {
        &self.case
    }

    /// Number of rows that are complete.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// An attribute of the file; `None` when it has none of that name.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the file is damaged.
    pub fn attribute(&self, name: &str) -> Result<Option<Attribute>, OutputError> {
        self.attribute_of(&self.file, name)
    }

    /// Every attribute of the file, by name.
    ///
    /// # Errors
    /// As [`attribute`](Self::attribute).
    pub fn attributes(&self) -> Result<Vec<(String, Attribute)>, OutputError> {
        self.attributes_of(&self.file)
    }

    /// Names of the groups, in the order of the layout.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the file is damaged.
    pub fn groups(&self) -> Result<Vec<String>, OutputError> {
        let groups = self.file.groups().map_err(self.damage())?;
        let mut names = Vec::with_capacity(groups.len());
        for group in groups {
            let Some(Attribute::Whole(order)) = self.attribute_of(&group, "order")? else {
                return Err(self.content(format!("group `{}` without its order", group.name()), "a group of a result"));
            };
            names.push((order, group.name().trim_start_matches('/').to_owned()));
        }
        names.sort();
        Ok(names.into_iter().map(|(_, name)| name).collect())
    }

    /// An attribute of a group, such as `kind`; `None` when it has none of that name.
    ///
    /// # Errors
    /// [`OutputError::Content`] when there is no such group or the file is damaged.
    pub fn group_attribute(&self, group: &str, name: &str) -> Result<Option<Attribute>, OutputError> {
        let group = self.group(group)?;
        self.attribute_of(&group, name)
    }

    /// Every variable of a group, by name; axes among them.
    ///
    /// # Errors
    /// As [`group_attribute`](Self::group_attribute).
    pub fn variables(&self, group: &str) -> Result<Vec<Variable>, OutputError> {
        let datasets = self.group(group)?.datasets().map_err(self.damage())?;
        let mut scales = vec![self.root_dataset("time")?];
        for dataset in &datasets {
            if h5ds::is_scale(dataset).map_err(self.damage())? {
                scales.push(dataset.clone());
            }
        }
        let variables = datasets.iter().map(|dataset| self.variable(dataset, &scales));
        let mut variables = variables.collect::<Result<Vec<_>, _>>()?;
        variables.sort_by(|left, right| left.name.cmp(&right.name));
        Ok(variables)
    }

    /// Recorded times [s], [rows].
    ///
    /// # Errors
    /// [`OutputError::Content`] when the file is damaged.
    pub fn time(&self) -> Result<Vec<f64>, OutputError> {
        self.read_column(&self.root_dataset("time")?)
    }

    /// A variable in time without a further axis, [rows].
    ///
    /// # Errors
    /// [`OutputError::Content`] when there is no such variable, it has another shape, or the file is damaged.
    pub fn series(&self, group: &str, name: &str) -> Result<Vec<f64>, OutputError> {
        self.read_column(&self.dataset(group, name)?)
    }

    /// A variable in time over an axis, [rows, points].
    ///
    /// # Errors
    /// As [`series`](Self::series).
    pub fn field(&self, group: &str, name: &str) -> Result<Array2<f64>, OutputError> {
        self.field_rows(group, name, 0..self.rows)
    }

    /// Some rows of a variable in time over an axis, [rows.len(), points].
    ///
    /// # Errors
    /// As [`series`](Self::series); and when there are not so many rows.
    pub fn field_rows(&self, group: &str, name: &str, rows: Range<usize>) -> Result<Array2<f64>, OutputError> {
        let dataset = self.dataset(group, name)?;
        self.check_extents(&dataset, 2, rows.end)?;
        dataset.read_slice_2d(s![rows, ..]).map_err(self.damage())
    }

    /// A variable that does not change in time, or the coordinates of an axis, [points].
    ///
    /// # Errors
    /// As [`series`](Self::series).
    pub fn constant(&self, group: &str, name: &str) -> Result<Vec<f64>, OutputError> {
        let dataset = self.dataset(group, name)?;
        self.check_constant(&dataset)?;
        dataset.read_raw().map_err(self.damage())
    }

    /// The points of an axis that has names, such as the origins of the air.
    ///
    /// # Errors
    /// As [`series`](Self::series).
    pub fn names(&self, group: &str, axis: &str) -> Result<Vec<String>, OutputError> {
        let dataset = self.dataset(group, axis)?;
        self.check_constant(&dataset)?;
        let names = dataset.read_raw::<VarLenUnicode>().map_err(self.damage())?;
        names.iter().map(|name| attribute::text(name).map_err(self.damage())).collect()
    }

    /// Reads every value of the first `rows` rows, which are whole chunks, and checks that the file is one of this layout.
    ///
    /// # Errors
    /// [`OutputError::Content`] naming what differs or is damaged.
    pub(super) fn verify(&self, layout: &Layout, rows: usize) -> Result<(), OutputError> {
        if self.case != layout.case {
            return Err(self.content("the result of another case", "the case of this run"));
        }
        if self.rows < rows {
            return Err(self.content(format!("{} rows", self.rows), format!("{rows} at least")));
        }
        self.verify_column(&self.root_dataset("time")?, &[layout.rows_at_once()], Precision::F64, rows)?;
        for (group, series, place) in layout.places() {
            let dataset = self.dataset(&group.name, &series.name)?;
            let width = series.axis.as_ref().map(|_| place.len());
            let chunk: Vec<usize> = std::iter::once(layout.rows_at_once()).chain(width).collect();
            self.verify_column(&dataset, &chunk, series.precision, rows)?;
        }
        Ok(())
    }

    fn verify_column(
        &self,
        dataset: &Dataset,
        chunk: &[usize],
        precision: Precision,
        rows: usize,
    ) -> Result<(), OutputError> {
        self.check_extents(dataset, chunk.len(), rows)?;
        let bytes = dataset.dtype().map_err(self.damage())?.size();
        if dataset.chunk().as_deref() != Some(chunk) || bytes != precision.bytes() {
            let found = format!("`{}` in chunks of {:?}, {bytes} bytes a value", dataset.name(), dataset.chunk());
            return Err(self.content(found, format!("{chunk:?}, {} bytes", precision.bytes())));
        }
        self.verify_rows(dataset, rows, chunk[1..].iter().product())
    }

    fn verify_rows(&self, dataset: &Dataset, rows: usize, width: usize) -> Result<(), OutputError> {
        let at_once = (VERIFIED_AT_ONCE / width).max(1);
        for start in (0..rows).step_by(at_once) {
            let end = rows.min(start + at_once);
            if dataset.ndim() == 1 {
                dataset.read_slice_1d::<f64, _>(s![start..end]).map(drop).map_err(self.damage())?;
            } else {
                dataset.read_slice_2d::<f64, _>(s![start..end, ..]).map(drop).map_err(self.damage())?;
            }
        }
        Ok(())
    }

    fn check_version(&self) -> Result<(), OutputError> {
        match self.attribute("format_version")? {
            Some(Attribute::Whole(FORMAT_VERSION)) => Ok(()),
            Some(other) => Err(self.content(format!("format version {other:?}"), FORMAT_VERSION.to_string())),
            None => Err(self.content("an HDF5 file without `format_version`", "a result of this program")),
        }
    }

    /// Reads how many rows are complete, and whether the run is finished.
    fn read_rows(&mut self) -> Result<usize, OutputError> {
        self.finished = match self.attribute("finished")? {
            Some(Attribute::Whole(0)) => false,
            Some(Attribute::Whole(1)) => true,
            other => return Err(self.content(format!("`finished` {other:?}"), "0 or 1")),
        };
        let rows: u64 = self.root_dataset("rows_valid")?.read_scalar().map_err(self.damage())?;
        let stored = self.root_dataset("time")?.size();
        match usize::try_from(rows) {
            Ok(rows) if rows == stored || (rows < stored && !self.finished) => Ok(rows),
            _ => Err(self.content(format!("{rows} rows announced and {stored} times"), "a time for each row")),
        }
    }

    fn read_case(&self) -> Result<String, OutputError> {
        let dataset = self.root_dataset("case")?;
        let case =
            dataset.read_scalar::<VarLenUnicode>().and_then(|text| attribute::text(&text)).map_err(self.damage())?;
        match self.attribute_of(&dataset, "crc32")? {
            Some(Attribute::Whole(sum)) if sum == i64::from(crc32fast::hash(case.as_bytes())) => Ok(case),
            _ => Err(self.content("a case that does not match its checksum", "the case as it was written")),
        }
    }

    fn variable(&self, dataset: &Dataset, scales: &[Dataset]) -> Result<Variable, OutputError> {
        let text = |name| {
            self.attribute_of(dataset, name).map(|value| match value {
                Some(Attribute::Text(text)) => text,
                _ => String::new(),
            })
        };
        let shape = dataset.shape();
        let axes = match scales.iter().find(|scale| scale.name() == dataset.name()) {
            Some(scale) => vec![last_name(scale)],
            None => {
                (0..).zip(&shape).map(|(axis, _)| self.axis_name(dataset, axis, scales)).collect::<Result<_, _>>()?
            }
        };
        Ok(Variable { name: last_name(dataset), units: text("units")?, long_name: text("long_name")?, axes, shape })
    }

    fn axis_name(&self, dataset: &Dataset, axis: u32, scales: &[Dataset]) -> Result<String, OutputError> {
        for scale in scales {
            if h5ds::is_attached(dataset, scale, axis).map_err(self.damage())? {
                return Ok(last_name(scale));
            }
        }
        Err(self.content(format!("`{}` without a name for axis {axis}", dataset.name()), "a named dimension"))
    }

    fn read_column(&self, dataset: &Dataset) -> Result<Vec<f64>, OutputError> {
        self.check_extents(dataset, 1, self.rows)?;
        dataset
            .read_slice_1d(s![..self.rows])
            .map(Array1::into_raw_vec_and_offset)
            .map(|(values, _)| values)
            .map_err(self.damage())
    }

    /// Refuses to read `rows` rows of an array of another rank, with fewer rows, or whose rows are not all stored.
    fn check_extents(&self, dataset: &Dataset, rank: usize, rows: usize) -> Result<(), OutputError> {
        let shape = dataset.get_shape().map_err(self.damage())?;
        if shape.len() != rank {
            return Err(self.content(format!("`{}` with {} axes", dataset.name(), shape.len()), rank.to_string()));
        }
        if shape[0] < rows {
            return Err(self.content(format!("`{}` with {} rows", dataset.name(), shape[0]), rows.to_string()));
        }
        let asked = shape[1..].iter().try_fold(rows as u64, |product, &extent| product.checked_mul(extent as u64));
        let most = dataset.storage_size().min(self.file.size()).saturating_mul(MOST_COMPRESSION);
        // A chunk that the tables have lost would read as missing values, without an error.
        let complete = self.sealed || has_chunks(dataset, rows);
        match asked {
            Some(asked) if asked <= most && complete => Ok(()),
            _ => Err(self.content(format!("damage (`{}` has lost values)", dataset.name()), format!("{rows} rows"))),
        }
    }

    /// As [`check_extents`](Self::check_extents), for every point of an array that does not change in time.
    fn check_constant(&self, dataset: &Dataset) -> Result<(), OutputError> {
        self.check_extents(dataset, 1, dataset.shape().first().copied().unwrap_or(0))
    }

    fn group(&self, name: &str) -> Result<hdf5::Group, OutputError> {
        if !self.file.link_exists(name) {
            return Err(self.content(format!("no group `{name}`"), format!("one of: {}", self.groups()?.join(", "))));
        }
        self.file.group(name).map_err(self.damage())
    }

    fn dataset(&self, group: &str, name: &str) -> Result<Dataset, OutputError> {
        let parent = self.group(group)?;
        if !parent.link_exists(name) {
            let known = parent.member_names().map_err(self.damage())?.join(", ");
            return Err(self.content(format!("no variable `{group}/{name}`"), format!("one of: {known}")));
        }
        parent.dataset(name).map_err(self.damage())
    }

    fn root_dataset(&self, name: &str) -> Result<Dataset, OutputError> {
        self.file.dataset(name).map_err(self.damage())
    }

    fn attribute_of(&self, location: &Location, name: &str) -> Result<Option<Attribute>, OutputError> {
        let known = location.attr_names().map_err(self.damage())?;
        if !known.iter().any(|other| other == name) {
            return Ok(None);
        }
        attribute::read(location, name).map_err(self.damage())
    }

    fn attributes_of(&self, location: &Location) -> Result<Vec<(String, Attribute)>, OutputError> {
        let mut names = location.attr_names().map_err(self.damage())?;
        names.sort();
        let mut attributes = Vec::with_capacity(names.len());
        for name in names {
            if let Some(value) = attribute::read(location, &name).map_err(self.damage())? {
                attributes.push((name, value));
            }
        }
        Ok(attributes)
    }

    fn content(&self, found: impl Into<String>, expected: impl Into<String>) -> OutputError {
        failure::content(&self.path, found, expected)
    }

    fn damage(&self) -> impl Fn(hdf5::Error) -> OutputError + '_ {
        |source| foreign(&self.path, source)
    }
}

/// Whether there are as many chunks as `rows` rows need; an array that is not in chunks is stored whole.
fn has_chunks(dataset: &Dataset, rows: usize) -> bool {
    let chunk = dataset.chunk().and_then(|chunk| chunk.first().copied()).filter(|&length| length > 0);
    chunk.is_none_or(|length| dataset.num_chunks().is_none_or(|chunks| chunks >= rows.div_ceil(length)))
}

/// The last part of a path inside the file.
fn last_name(dataset: &Dataset) -> String {
    let name = dataset.name();
    name.rsplit('/').next().unwrap_or_default().to_owned()
}

/// An error while reading: of the system if HDF5 says so, else of what the file holds.
fn foreign(path: &Path, source: hdf5::Error) -> OutputError {
    if source.contains_minor(MinorErrorCode::NotHdf5) {
        return failure::content(path, "a file that is not HDF5", "a result of this program");
    }
    match failure::hdf5(path, source) {
        OutputError::Hdf5 { source, .. } => failure::content(path, format!("damage ({source})"), "an unbroken result"),
        other => other,
    }
}
