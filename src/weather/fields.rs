//! Fields of a line with the column each starts at, and numbers read from them with their place in the message.

use super::WeatherError;

/// A field of a line, its blanks and quotes taken off.
#[derive(Clone, Copy, Debug)]
pub(super) struct Field<'a> {
    /// Column of the first character, from 1.
    pub column: usize,
    /// The text.
    pub text: &'a str,
}

/// A line with its number, for messages.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'a> {
    pub name: &'a str,
    pub number: usize,
    pub text: &'a str,
}

impl<'a> Line<'a> {
    /// Comma-separated fields; commas inside double quotes do not separate.
    pub fn fields(&self) -> Vec<Field<'a>> {
        let mut fields = Vec::with_capacity(40);
        let (mut start, mut start_column, mut quoted) = (0, 1, false);
        for (column, (at, c)) in self.text.char_indices().enumerate() {
            match c {
                '"' => quoted = !quoted,
                ',' if !quoted => {
                    fields.push(trimmed(self.text.get(start..at), start_column));
                    (start, start_column) = (at + 1, column + 2);
                }
                _ => {}
            }
        }
        fields.push(trimmed(self.text.get(start..), start_column));
        fields
    }

    /// The characters `from..=to`, counted from 1, of a line of fixed columns.
    pub fn columns(
        &self,
        from: usize,
        to: usize,
        field: &'static str,
    ) -> Result<Field<'a>, WeatherError> {
        self.text
            .get(from - 1..to)
            .map(|text| Field { column: from, text })
            .ok_or_else(|| self.missing(field))
    }

    /// A field by index.
    pub fn field(
        &self,
        fields: &[Field<'a>],
        index: usize,
        field: &'static str,
    ) -> Result<Field<'a>, WeatherError> {
        fields
            .get(index)
            .copied()
            .ok_or_else(|| self.missing(field))
    }

    /// The number in a field; never NaN or infinite.
    pub fn number(&self, at: Field<'_>, field: &'static str) -> Result<f64, WeatherError> {
        at.text
            .trim()
            .parse::<f64>()
            .ok()
            .filter(|value| value.is_finite())
            .ok_or_else(|| WeatherError::Number {
                name: self.name.to_owned(),
                line: self.number,
                column: at.column,
                field,
                text: at.text.chars().take(40).collect(),
            })
    }

    /// The number in a field, inside a range.
    pub fn number_in(
        &self,
        at: Field<'_>,
        field: &'static str,
        least: f64,
        greatest: f64,
    ) -> Result<f64, WeatherError> {
        let value = self.number(at, field)?;
        if (least..=greatest).contains(&value) {
            return Ok(value);
        }
        Err(WeatherError::OutOfRange {
            name: self.name.to_owned(),
            line: self.number,
            column: at.column,
            field,
            value,
            least,
            greatest,
        })
    }

    /// The whole number in a field, inside a range of small numbers.
    pub fn small(
        &self,
        at: Field<'_>,
        field: &'static str,
        least: u8,
        greatest: u8,
    ) -> Result<u8, WeatherError> {
        let value = self.number_in(at, field, f64::from(least), f64::from(greatest))?;
        Ok(value as u8)
    }

    /// The line has no such field.
    pub fn missing(&self, field: &'static str) -> WeatherError {
        WeatherError::MissingField {
            name: self.name.to_owned(),
            line: self.number,
            field,
        }
    }
}

fn trimmed(text: Option<&str>, column: usize) -> Field<'_> {
    let text = text.unwrap_or("");
    let lead = text.chars().take_while(|c| c.is_whitespace()).count();
    Field {
        column: column + lead,
        text: text.trim().trim_matches('"').trim(),
    }
}
