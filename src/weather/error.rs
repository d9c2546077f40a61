//! What can be wrong with a weather file, and what to do about it.

/// Why a weather file cannot be used. Lines and columns count characters from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WeatherError {
    /// None of the known layouts.
    #[error("{name}: no weather file of a known layout (EPW, TMY3 CSV, TM2 or PVGIS hourly CSV)")]
    UnknownFormat {
        /// File name.
        name: String,
    },
    /// A packed file.
    #[error("{name}: the file is compressed")]
    Compressed {
        /// File name.
        name: String,
    },
    /// A header line that must be there is not.
    #[error("{name}: no {what} in the header")]
    Header {
        /// File name.
        name: String,
        /// What is sought.
        what: &'static str,
    },
    /// A line ends before a field that is needed.
    #[error("{name}, line {line}: the line ends before the field {field}")]
    MissingField {
        /// File name.
        name: String,
        /// Line.
        line: usize,
        /// Field.
        field: &'static str,
    },
    /// A field that should be a number is none.
    #[error("{name}, line {line}, column {column}: {field} is {text:?}, not a number")]
    Number {
        /// File name.
        name: String,
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// Field.
        field: &'static str,
        /// What stands there, cut short.
        text: String,
    },
    /// A number that cannot be.
    #[error(
        "{name}, line {line}, column {column}: {field} is {value}, outside {least} to {greatest}"
    )]
    OutOfRange {
        /// File name.
        name: String,
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// Field.
        field: &'static str,
        /// Value found.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Greatest allowed.
        greatest: f64,
    },
    /// Rows that are not hours.
    #[error("{name}: {per_hour} rows an hour, one is needed")]
    SubHourly {
        /// File name.
        name: String,
        /// Rows an hour that the header states.
        per_hour: u32,
    },
    /// The rows do not run from hour to hour through one year.
    #[error(
        "{name}, line {line}: the row is for {found_month}-{found_day} hour {found_hour}, expected {month}-{day} hour {hour}"
    )]
    RowOrder {
        /// File name.
        name: String,
        /// Line.
        line: usize,
        /// Month found.
        found_month: u8,
        /// Day found.
        found_day: u8,
        /// Hour found, the one it ends with.
        found_hour: u8,
        /// Month expected.
        month: u8,
        /// Day expected.
        day: u8,
        /// Hour expected.
        hour: u8,
    },
    /// Too few or too many rows.
    #[error("{name}: {found} hourly rows, a typical year has 8760 (8784 with 29 February)")]
    RowCount {
        /// File name.
        name: String,
        /// Rows found.
        found: usize,
    },
}

impl WeatherError {
    /// What to do about it, one sentence.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::UnknownFormat { .. } => {
                "use the .epw or TMY3 .csv of the place, as published and unchanged"
            }
            Self::Compressed { .. } => "unpack it first",
            Self::Header { .. } | Self::MissingField { .. } => {
                "fetch the file again, it seems cut short or edited"
            }
            Self::Number { .. } | Self::OutOfRange { .. } => {
                "correct the value there, or fetch the file again"
            }
            Self::SubHourly { .. } => "use an hourly file",
            Self::RowOrder { .. } | Self::RowCount { .. } => {
                "the rows must run from 1 January hour 1 to 31 December hour 24 without a gap; fetch the file again"
            }
        }
    }
}
