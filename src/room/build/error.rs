//! Why a valid room file cannot be built.

use crate::{
    geometry::PolygonError,
    luminaire::{BeamError, PhotometryError},
    material::MaterialError,
    piece::PieceError,
};

/// Why a valid room file cannot be built.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// A named file cannot be read.
    #[error("{name} cannot be read, named at {path}")]
    File {
        /// The file.
        name: String,
        /// Path of the field that names it.
        path: String,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// A photometric file is not sound.
    #[error("photometric file of {kind:?}")]
    Photometry {
        /// Kind of fixture.
        kind: String,
        /// Why.
        #[source]
        source: Box<PhotometryError>,
    },
    /// A photometric file has no size of opening and the room file gives none.
    #[error("fixture kind {kind:?}: its photometric file gives no size of the luminous opening")]
    NoAperture {
        /// Kind of fixture.
        kind: String,
    },
    /// A generic beam is not possible.
    #[error("fixture kind {kind:?}")]
    Beam {
        /// Kind of fixture.
        kind: String,
        /// Why.
        #[source]
        source: Box<BeamError>,
    },
    /// The piece is not sound.
    #[error("the piece")]
    Piece {
        /// Why.
        #[source]
        source: Box<PieceError>,
    },
    /// A tile's material is not known.
    #[error("no material is named {name:?}")]
    UnknownMaterial {
        /// The name.
        name: String,
        /// Nearest known names.
        near: String,
    },
    /// A change names a tile that the piece has not.
    #[error("tile {tile} is changed, but the piece has {count} tiles")]
    UnknownTile {
        /// Its number.
        tile: u32,
        /// Tiles of the piece.
        count: usize,
    },
    /// A material's parameters are not possible.
    #[error("material {name:?}")]
    Material {
        /// The name.
        name: String,
        /// Why.
        #[source]
        source: Box<MaterialError>,
    },
    /// An outline encloses no area.
    #[error("a surface of the room")]
    Polygon(#[from] PolygonError),
    /// The piece does not fit on its wall.
    #[error("the piece does not fit: {what}")]
    DoesNotFit {
        /// Which edge by how much.
        what: String,
    },
}

impl LoadError {
    /// Everything that was found, each with its causes and with what would be right.
    pub fn listing(&self) -> Vec<(String, String)> {
        if let Self::Piece { source } = self
            && !source.problems().is_empty()
        {
            return source
                .problems()
                .iter()
                .map(|p| (format!("the piece: {p}"), p.help()))
                .collect();
        }
        let mut chain = self.to_string();
        let mut cause = std::error::Error::source(self);
        while let Some(c) = cause {
            chain = format!("{chain}: {c}");
            cause = c.source();
        }
        vec![(chain, self.help())]
    }

    /// Path of the room file's section that it is about.
    pub fn section(&self) -> &'static str {
        match self {
            Self::File { path, .. } if path == "piece" => "piece",
            Self::Piece { .. } => "piece",
            Self::File { .. }
            | Self::Photometry { .. }
            | Self::NoAperture { .. }
            | Self::Beam { .. } => "fixture_types",
            Self::UnknownMaterial { .. } | Self::Material { .. } => "materials",
            Self::UnknownTile { .. } => "tile_changes",
            Self::Polygon(_) => "spaces",
            Self::DoesNotFit { .. } => "placement",
        }
    }

    /// What would be right.
    pub fn help(&self) -> String {
        match self {
            Self::File { name, .. } => {
                format!("put {name:?} beside the room file, or correct its name")
            }
            Self::Photometry { source, .. } => source.help(),
            Self::NoAperture { .. } => {
                "add e.g. `aperture: Disc(diameter_mm: 60)`; the maker's sheet gives the size"
                    .into()
            }
            Self::Beam { source, .. } => source.help().into(),
            Self::Piece { source } => source.help(),
            Self::UnknownMaterial { near, .. } => near.clone(),
            Self::UnknownTile { count, .. } => {
                format!("tiles are numbered from 1 to {count}; take the change out")
            }
            Self::Material { .. } => "correct its parameters".into(),
            Self::Polygon(_) => "check the outlines".into(),
            Self::DoesNotFit { .. } => {
                "move it along the wall, change its height, or choose another wall".into()
            }
        }
    }
}
