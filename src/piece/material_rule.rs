//! Rules that give each tile the name of its material.
//!
//! A rule only picks names; what a name means (reflectance, roughness, fibre angle) is defined
//! elsewhere.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::grain::in_turn;

/// How the material follows from a tile's place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum MaterialRule {
    /// One material for all.
    One(String),
    /// Two materials in turn like a chequer board, the first on row 0, column 0.
    Chequer(String, String),
    /// A list taken in turn in the layout's order.
    Alternate(Vec<String>),
    /// A list taken in turn by row, or by ring from the centre outwards.
    Rows(Vec<String>),
    /// A list taken in turn by column, or by ray counter-clockwise.
    Columns(Vec<String>),
    /// By the colour of a drawing's outline.
    ByColour {
        /// Material by colour such as `"#a05a2c"`.
        colours: BTreeMap<String, String>,
        /// Material of all other colours.
        otherwise: String,
    },
    /// By the named group (layer) that a drawing's outline lies in.
    ByLayer {
        /// Material by layer.
        layers: BTreeMap<String, String>,
        /// Material of all other layers.
        otherwise: String,
    },
}

/// What a material rule may know about a tile.
#[derive(Debug, Clone, Copy)]
pub(crate) struct MaterialPlace<'a> {
    /// Row from the top or ring from the centre.
    pub row: i64,
    /// Column from the left or segment counter-clockwise.
    pub column: i64,
    /// Running index in the layout's own order.
    pub index: i64,
    /// Fill or stroke colour of a drawing's outline, else empty.
    pub colour: &'a str,
    /// Named group of a drawing's outline, else empty.
    pub layer: &'a str,
}

impl MaterialRule {
    /// The material's name; `None` only for an empty list, which checking refuses.
    pub(crate) fn name<'a>(&'a self, place: &MaterialPlace<'_>) -> Option<&'a str> {
        let turn = |list: &'a [String], index: i64| {
            let indices: Vec<usize> = (0..list.len()).collect();
            list.get(in_turn(&indices, index)?).map(String::as_str)
        };
        match self {
            Self::One(name) => Some(name),
            Self::Chequer(first, second) => {
                let is_first = (place.row + place.column).rem_euclid(2) == 0;
                Some(if is_first { first } else { second })
            }
            Self::Alternate(list) => turn(list, place.index),
            Self::Rows(list) => turn(list, place.row),
            Self::Columns(list) => turn(list, place.column),
            Self::ByColour { colours, otherwise } => {
                Some(colours.get(place.colour).unwrap_or(otherwise))
            }
            Self::ByLayer { layers, otherwise } => {
                Some(layers.get(place.layer).unwrap_or(otherwise))
            }
        }
    }

    /// All names in the rule with their place in the file, in the order written.
    pub(crate) fn names(&self) -> Vec<(String, &str)> {
        let list = |list: &'_ [String]| -> Vec<String> {
            (0..list.len()).map(|i| format!("[{i}]")).collect()
        };
        match self {
            Self::One(name) => vec![(String::new(), name)],
            Self::Chequer(a, b) => vec![("[0]".to_owned(), a), ("[1]".to_owned(), b)],
            Self::Alternate(l) | Self::Rows(l) | Self::Columns(l) => list(l)
                .into_iter()
                .zip(l.iter().map(String::as_str))
                .collect(),
            Self::ByColour {
                colours: map,
                otherwise,
            }
            | Self::ByLayer {
                layers: map,
                otherwise,
            } => map
                .iter()
                .map(|(key, name)| (format!("[{key:?}]"), name.as_str()))
                .chain([(".otherwise".to_owned(), otherwise.as_str())])
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(row: i64, column: i64) -> MaterialPlace<'static> {
        MaterialPlace {
            row,
            column,
            index: row * 10 + column,
            colour: "#a05a2c",
            layer: "oak",
        }
    }

    #[test]
    fn each_rule_names_the_material_found_by_hand() {
        let two = || vec!["maple satin".to_owned(), "walnut satin".to_owned()];
        let name = |rule: &MaterialRule, p| rule.name(&p).unwrap().to_owned();
        let chequer = MaterialRule::Chequer("a".into(), "b".into());
        assert_eq!(name(&chequer, place(1, 1)), "a");
        assert_eq!(name(&chequer, place(-1, 0)), "b");
        assert_eq!(
            name(&MaterialRule::Rows(two()), place(3, 0)),
            "walnut satin"
        );
        assert_eq!(
            name(&MaterialRule::Columns(two()), place(3, 0)),
            "maple satin"
        );
        assert_eq!(
            name(&MaterialRule::Alternate(two()), place(1, 1)),
            "walnut satin"
        );
        let by = MaterialRule::ByColour {
            colours: BTreeMap::from([("#a05a2c".into(), "walnut satin".into())]),
            otherwise: "maple satin".into(),
        };
        assert_eq!(name(&by, place(0, 0)), "walnut satin");
        assert_eq!(MaterialRule::Rows(Vec::new()).name(&place(0, 0)), None);
    }
}
