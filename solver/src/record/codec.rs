//! Numbers and texts as little-endian bytes, for checkpoints.

/// Writes values one after another.
#[derive(Debug, Default)]
pub(super) struct Encoder {
    bytes: Vec<u8>,
}

impl Encoder {
    pub(super) fn raw(&mut self, bytes: &[u8]) {
        self.bytes.extend_from_slice(bytes);
    }

    pub(super) fn whole(&mut self, value: u64) {
        self.raw(&value.to_le_bytes());
    }

    /// The bits of a number, whatever they mean.
    pub(super) fn number(&mut self, value: f64) {
        self.whole(value.to_bits());
    }

    pub(super) fn text(&mut self, text: &str) {
        self.whole(text.len() as u64);
        self.raw(text.as_bytes());
    }

    pub(super) fn numbers(&mut self, values: &[f64]) {
        self.whole(values.len() as u64);
        self.bytes.reserve(size_of_val(values));
        values.iter().for_each(|&value| self.number(value));
    }

    /// Everything so far, with its checksum at the end.
    pub(super) fn finish(mut self) -> Vec<u8> {
        let sum = crc32fast::hash(&self.bytes);
        self.raw(&sum.to_le_bytes());
        self.bytes
    }
}

/// Reads what [`Encoder`] wrote. `None` means that the bytes end too early or cannot be what was written.
#[derive(Debug)]
pub(super) struct Decoder<'a> {
    rest: &'a [u8],
}

impl<'a> Decoder<'a> {
    /// Checks and removes the checksum at the end.
    pub(super) fn new(bytes: &'a [u8]) -> Option<Self> {
        let (rest, sum) = bytes.split_last_chunk()?;
        (crc32fast::hash(rest) == u32::from_le_bytes(*sum)).then_some(Self { rest })
    }

    pub(super) fn raw(&mut self, length: usize) -> Option<&'a [u8]> {
        let (bytes, rest) = self.rest.split_at_checked(length)?;
        self.rest = rest;
        Some(bytes)
    }

    pub(super) fn whole(&mut self) -> Option<u64> {
        let (bytes, rest) = self.rest.split_first_chunk()?;
        self.rest = rest;
        Some(u64::from_le_bytes(*bytes))
    }

    pub(super) fn number(&mut self) -> Option<f64> {
        self.whole().map(f64::from_bits)
    }

    pub(super) fn text(&mut self) -> Option<String> {
        let length = self.length(1)?;
        String::from_utf8(self.raw(length)?.to_vec()).ok()
    }

    pub(super) fn numbers(&mut self) -> Option<Vec<f64>> {
        let length = self.length(size_of::<f64>())?;
        (0..length).map(|_| self.number()).collect()
    }

    /// A count of things of `size` bytes each, at least, that are still to come; so nobody makes room for more than the file can hold.
    pub(super) fn length(&mut self, size: usize) -> Option<usize> {
        let length = usize::try_from(self.whole()?).ok()?;
        (length <= self.rest.len() / size).then_some(length)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }
}
