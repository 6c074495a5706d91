//! Attributes: small facts that hang on a file, a group or a variable.

use hdf5::types::{TypeDescriptor, VarLenUnicode};
use hdf5::{Location, Result};

/// Value of an attribute.
#[derive(Debug, Clone, PartialEq)]
pub enum Attribute {
    /// Text.
    Text(String),
    /// A whole number; yes and no are 1 and 0.
    Whole(i64),
    /// A number.
    Number(f64),
    /// Several numbers.
    Numbers(Vec<f64>),
}

impl From<&str> for Attribute {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Attribute {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<i64> for Attribute {
    fn from(whole: i64) -> Self {
        Self::Whole(whole)
    }
}

impl From<f64> for Attribute {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<Vec<f64>> for Attribute {
    fn from(numbers: Vec<f64>) -> Self {
        Self::Numbers(numbers)
    }
}

/// HDF5's form of a text; NUL would end it and is refused.
pub(super) fn unicode(text: &str) -> Result<VarLenUnicode> {
    text.parse().map_err(|source| hdf5::Error::Internal(format!("text {text:?}: {source}")))
}

/// The text behind HDF5's form, checked: a damaged file may hold any bytes.
pub(super) fn text(value: &VarLenUnicode) -> Result<String> {
    let bytes = value.as_bytes().to_vec();
    String::from_utf8(bytes).map_err(|source| hdf5::Error::Internal(format!("text that is not UTF-8: {source}")))
}

/// Writes an attribute, in place of an older one of the same name.
pub(super) fn write(location: &Location, name: &str, value: &Attribute) -> Result<()> {
    if location.attr_names()?.iter().any(|known| known == name) {
        location.delete_attr(name)?;
    }
    match value {
        Attribute::Text(text) => location.new_attr::<VarLenUnicode>().create(name)?.write_scalar(&unicode(text)?),
        Attribute::Whole(whole) => location.new_attr::<i64>().create(name)?.write_scalar(whole),
        Attribute::Number(number) => location.new_attr::<f64>().create(name)?.write_scalar(number),
        Attribute::Numbers(numbers) => {
            location.new_attr::<f64>().shape(numbers.len()).create(name)?.write(numbers.as_slice())
        }
    }
}

/// Reads an attribute; `None` for a type that this program does not write, such as the references of dimension scales.
pub(super) fn read(location: &Location, name: &str) -> Result<Option<Attribute>> {
    let attribute = location.attr(name)?;
    Ok(match attribute.dtype()?.to_descriptor() {
        Ok(TypeDescriptor::VarLenUnicode) if attribute.is_scalar() => {
            Some(Attribute::Text(text(&attribute.read_scalar()?)?))
        }
        Ok(TypeDescriptor::Integer(_)) if attribute.is_scalar() => Some(Attribute::Whole(attribute.read_scalar()?)),
        Ok(TypeDescriptor::Float(_)) if attribute.is_scalar() => Some(Attribute::Number(attribute.read_scalar()?)),
        Ok(TypeDescriptor::Float(_)) => Some(Attribute::Numbers(attribute.read_raw()?)),
        _ => None,
    })
}
