//! Luminaires: photometric files and intensity distributions.
//!
//! Reads ANSI/IES LM-63 (1986, 1991, 1995, 2002, 2019; Types A, B, C) and EULUMDAT files into a
//! [`Photometry`]: intensities [cd] by direction, flux [lm], luminous opening [m]. Fixtures without a file are
//! a [`Beam`]. Nothing here opens files; the caller hands over bytes and a name for messages.
//!
//! Frame: x = C0, y = C90, z up; gamma 0 points straight down (-z). A fixture that is aimed is turned from
//! down to its aim and then about it.
//!
//! Sources: IES LM-63-1991, -1995, -2002, -2019; A. Stockmar, "EULUMDAT - ein Leuchtendatenformat fuer den
//! europaeischen Beleuchtungsplaner", Licht '90, 641-644, 1990. Intensities are bilinear in the listed angles
//! and 0 outside the listed vertical range; every factor of the file is applied once.
//!
//! Limits: far field only; no spectral data; lamp tilt tables are kept but not applied; at most 4000 angles a
//! list and 2 million intensities a file.

mod aperture;
mod aperture_point;
mod axis;
pub mod beam;
mod distribution;
mod error;
mod eulumdat;
mod item;
mod lm63;
mod photometry;
mod planes;
mod profile;
mod read;
mod source;
pub mod spread_angle;
mod table;
mod warning;

pub use aperture::{Aperture, HorizontalAxis};
pub use beam::{Beam, BeamError, BeamOutput};
pub use distribution::{
    IntensityDistribution, IntensityTableError, angles_from_direction, direction_from_angles,
};
pub use error::{AngleListKind, PhotometryError, Place};
pub use item::Item;
pub use photometry::{
    AngleRange, LampSet, ListedPeak, Lm63Version, PhotometricFormat, PhotometricSymmetry,
    PhotometricType, Photometry, TiltTable,
};
pub use read::read_photometry;
pub use warning::PhotometricWarning;
