//! Values that go into and come out of a database.

use goldward_journal::Uuid;

use crate::error::StoreError;

/// One value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// A whole number.
    Int(i64),
    /// A text.
    Text(String),
    /// Bytes.
    Bytes(Vec<u8>),
    /// No number.
    NoInt,
    /// No bytes.
    NoBytes,
}

impl From<i64> for Cell {
    fn from(value: i64) -> Self {
        Self::Int(value)
    }
}

impl From<u64> for Cell {
    fn from(value: u64) -> Self {
        // Times and numbers of ours fit; a cursor made up by someone else is cut.
        Self::Int(i64::try_from(value).unwrap_or(i64::MAX))
    }
}

impl From<&str> for Cell {
    fn from(value: &str) -> Self {
        Self::Text(value.to_owned())
    }
}

impl From<String> for Cell {
    fn from(value: String) -> Self {
        Self::Text(value)
    }
}

impl From<Uuid> for Cell {
    fn from(value: Uuid) -> Self {
        Self::Bytes(value.as_bytes().to_vec())
    }
}

impl From<u128> for Cell {
    fn from(value: u128) -> Self {
        Self::Bytes(value.to_be_bytes().to_vec())
    }
}

impl From<&[u8]> for Cell {
    fn from(value: &[u8]) -> Self {
        Self::Bytes(value.to_vec())
    }
}

impl From<Option<Uuid>> for Cell {
    fn from(value: Option<Uuid>) -> Self {
        value.map_or(Self::NoBytes, Self::from)
    }
}

impl From<Option<u64>> for Cell {
    fn from(value: Option<u64>) -> Self {
        value.map_or(Self::NoInt, Self::from)
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row(pub Vec<Cell>);

fn odd(column: usize) -> StoreError {
    StoreError::Damaged(format!("column {column} of a row holds what it should not"))
}

impl Row {
    /// A whole number that is not negative.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] when it is none; so for the others.
    pub fn int(&self, column: usize) -> Result<u64, StoreError> {
        match self.0.get(column) {
            Some(Cell::Int(n)) => u64::try_from(*n).map_err(|_| odd(column)),
            _ => Err(odd(column)),
        }
    }

    /// A text, taken out.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn text(&mut self, column: usize) -> Result<String, StoreError> {
        match self.0.get_mut(column) {
            Some(Cell::Text(text)) => Ok(std::mem::take(text)),
            _ => Err(odd(column)),
        }
    }

    /// Bytes.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn bytes(&self, column: usize) -> Result<&[u8], StoreError> {
        match self.0.get(column) {
            Some(Cell::Bytes(bytes)) => Ok(bytes),
            _ => Err(odd(column)),
        }
    }

    /// Bytes, if there are any.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn maybe_bytes(&self, column: usize) -> Result<Option<&[u8]>, StoreError> {
        match self.0.get(column) {
            Some(Cell::NoBytes | Cell::NoInt) => Ok(None),
            _ => self.bytes(column).map(Some),
        }
    }

    /// A number of 128 bits.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn wide(&self, column: usize) -> Result<u128, StoreError> {
        match self.0.get(column) {
            Some(Cell::Bytes(bytes)) => Ok(u128::from_be_bytes(bytes.as_slice().try_into().map_err(|_| odd(column))?)),
            _ => Err(odd(column)),
        }
    }

    /// An id.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn id(&self, column: usize) -> Result<Uuid, StoreError> {
        self.wide(column).map(Uuid::from_u128)
    }

    /// An id, if there is one.
    ///
    /// # Errors
    /// As [`Row::int`].
    pub fn maybe_id(&self, column: usize) -> Result<Option<Uuid>, StoreError> {
        match self.0.get(column) {
            Some(Cell::NoBytes | Cell::NoInt) => Ok(None),
            _ => self.id(column).map(Some),
        }
    }
}
