//! What can be wrong with a material.

/// A material or a pane that cannot be made, or a name that is not in the library.
#[derive(Debug, thiserror::Error)]
pub enum MaterialError {
    /// A parameter outside its range.
    #[error("{quantity} is {value}, outside {min} to {max}")]
    OutOfRange {
        /// What the number is, with its unit.
        quantity: &'static str,
        /// The number given.
        value: f32,
        /// Least allowed value.
        min: f32,
        /// Greatest allowed value.
        max: f32,
    },
    /// Parts of a material that together send back more light than arrives.
    #[error(
        "{model} reflects {albedo:.3} of the light from {from_normal_deg:.0} deg off the normal, more than arrives"
    )]
    TooBright {
        /// The model.
        model: &'static str,
        /// Its directional albedo.
        albedo: f32,
        /// Where the light comes from, in degrees off the normal.
        from_normal_deg: f32,
    },
    /// Lengths of a relief that do not fit together.
    #[error("relief: {smaller} of {smaller_m} m does not fit into {larger} of {larger_m} m")]
    DoesNotFit {
        /// The part.
        smaller: &'static str,
        /// Its length [m].
        smaller_m: f32,
        /// What it should fit into.
        larger: &'static str,
        /// The length of that [m].
        larger_m: f32,
    },
    /// A material file that does not parse.
    #[error("material list does not parse: {0}")]
    Syntax(#[from] ron::error::SpannedError),
    /// A name that the library lacks.
    #[error("no material named {name:?}")]
    UnknownMaterial {
        /// The name asked for.
        name: String,
        /// The nearest names, best first.
        suggestions: Vec<String>,
    },
}

/// `value` if it lies in `min..=max`.
pub(crate) fn in_range(
    quantity: &'static str,
    value: f32,
    (min, max): (f32, f32),
) -> Result<f32, MaterialError> {
    // A NaN fails both comparisons.
    if value >= min && value <= max {
        Ok(value)
    } else {
        Err(MaterialError::OutOfRange {
            quantity,
            value,
            min,
            max,
        })
    }
}
