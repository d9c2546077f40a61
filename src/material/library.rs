//! Named materials: those that come with the program and those a user adds.
//!
//! A library is a RON map from name to [`MaterialSpec`], in the order of the file. Names are matched
//! exactly; an unknown name is answered with the nearest ones.

use std::fmt;

use serde::de::{Error as _, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::material::error::MaterialError;
use crate::material::spec::MaterialSpec;

/// The materials that come with the program.
const BUILT_IN: &str = include_str!("../../assets/materials.ron");

/// How many names are suggested at most.
const SUGGESTION_COUNT: usize = 3;

/// Materials by name, in a fixed order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Library {
    materials: Vec<(String, MaterialSpec)>,
}

impl Library {
    /// The materials that come with the program.
    ///
    /// # Errors
    /// Never for the file this was built with; a test reads it.
    pub fn built_in() -> Result<Self, MaterialError> {
        Self::from_ron(BUILT_IN)
    }

    /// Library from RON text.
    ///
    /// # Errors
    /// Text that does not parse, an unknown key, a name given twice.
    pub fn from_ron(text: &str) -> Result<Self, MaterialError> {
        Ok(ron::from_str(text)?)
    }

    /// The material of a name.
    ///
    /// # Errors
    /// A name that is not there, with the nearest names.
    pub fn get(&self, name: &str) -> Result<&MaterialSpec, MaterialError> {
        self.materials
            .iter()
            .find_map(|(known, spec)| (known == name).then_some(spec))
            .ok_or_else(|| MaterialError::UnknownMaterial {
                name: name.to_owned(),
                suggestions: self.suggestions(name),
            })
    }

    /// All names, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.materials.iter().map(|(name, _)| name.as_str())
    }

    /// All materials, in order.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &MaterialSpec)> {
        self.materials
            .iter()
            .map(|(name, spec)| (name.as_str(), spec))
    }

    /// Adds a material, or replaces the one of that name.
    pub fn insert(&mut self, name: String, spec: MaterialSpec) {
        match self.materials.iter_mut().find(|(known, _)| *known == name) {
            Some((_, old)) => *old = spec,
            None => self.materials.push((name, spec)),
        }
    }

    /// The known names nearest to `name`, best first.
    #[must_use]
    pub fn suggestions(&self, name: &str) -> Vec<String> {
        let wanted = name.to_lowercase();
        let mut ranked: Vec<(usize, &str)> = self
            .names()
            .filter_map(|known| {
                let lower = known.to_lowercase();
                let inside = lower.contains(&wanted) || wanted.contains(&lower);
                let distance = crate::spelling::edit_distance(&wanted, &lower);
                let near = distance * 2 <= wanted.chars().count().max(4);
                let inside = inside && !wanted.is_empty();
                (near || inside).then_some((distance, known))
            })
            .collect();
        // Stable: equal distances keep the order of the file.
        ranked.sort_by_key(|&(distance, _)| distance);
        ranked
            .into_iter()
            .take(SUGGESTION_COUNT)
            .map(|(_, known)| known.to_owned())
            .collect()
    }
}

impl<'de> Deserialize<'de> for Library {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;

        impl<'de> Visitor<'de> for InOrder {
            type Value = Library;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map from material name to material")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Library, A::Error> {
                let mut library = Library::default();
                while let Some(name) = map.next_key::<String>()? {
                    if library.names().any(|known| known == name) {
                        return Err(A::Error::custom(format_args!(
                            "material {name:?} is given twice"
                        )));
                    }
                    let spec = map.next_value()?;
                    library.materials.push((name, spec));
                }
                Ok(library)
            }
        }

        deserializer.deserialize_map(InOrder)
    }
}

impl Serialize for Library {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.materials.len()))?;
        for (name, spec) in &self.materials {
            map.serialize_entry(name, spec)?;
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: &str = r#"{ "plaster": (model: Diffuse(reflectance: 0.7), display_rgb: (0.7, 0.7, 0.7), dose_class: 1, source: "test") }"#;

    #[test]
    fn words_are_as_far_apart_as_they_are() {
        assert_eq!(crate::spelling::edit_distance("maple", "maple"), 0);
        assert_eq!(crate::spelling::edit_distance("mapel", "maple"), 2);
        assert_eq!(crate::spelling::edit_distance("kitten", "sitting"), 3);
        assert_eq!(crate::spelling::edit_distance("", "oak"), 3);
    }

    #[test]
    fn a_mistyped_name_is_answered_with_near_ones() {
        let library = Library::built_in().unwrap();
        let Err(MaterialError::UnknownMaterial { suggestions, .. }) = library.get("mapel satin")
        else {
            panic!("must be unknown");
        };
        assert_eq!(suggestions.first().map(String::as_str), Some("maple satin"));
        assert!(library.suggestions("zzzzzzzz").is_empty());
    }

    #[test]
    fn wrong_key_class_and_repeated_name_point_at_their_line() {
        for (text, line, word) in [
            (
                ONE.replace("reflectance", "\nreflectence"),
                2,
                "reflectence",
            ),
            (
                ONE.replace("dose_class: 1", "\ndose_class: 7"),
                2,
                "outside 1 to 4",
            ),
            (
                format!(
                    "{{ {0},\n{0} }}",
                    ONE.trim_start_matches('{').trim_end_matches('}')
                ),
                2,
                "given twice",
            ),
        ] {
            let error = ron::from_str::<Library>(&text).unwrap_err();
            assert_eq!(
                error.span.start.line.max(error.span.end.line),
                line,
                "{error}"
            );
            assert!(error.to_string().contains(word), "{error}");
        }
    }

    #[test]
    fn library_survives_writing_and_reading() {
        let library = Library::built_in().unwrap();
        let text = ron::to_string(&library).unwrap();
        assert_eq!(Library::from_ron(&text).unwrap(), library);
    }
}
