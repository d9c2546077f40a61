//! Findings in a photometric file that do not stop it from being used.

use super::item::Item;
use super::photometry::PhotometricType;

/// A finding that the person who lights the room should see.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotometricWarning {
    /// UTF-16 text.
    #[error("the file is UTF-16 text; it was converted")]
    Utf16,
    /// A format line of an unknown year.
    #[error("format line {found:?} is not a known LM-63 version; read as LM-63-2002")]
    UnknownVersion {
        /// The line.
        found: String,
    },
    /// `TILT=` names a file or nothing.
    #[error("the tilt file {name:?} is not read; intensities are used as for TILT=NONE")]
    TiltFileNotRead {
        /// Name in the file.
        name: String,
    },
    /// `TILT=INCLUDE` with a factor for lamps that are not at tilt 0.
    #[error(
        "lamp output falls to {smallest_factor} of the listed intensities when the lamp is tilted; this is not applied"
    )]
    TiltNotApplied {
        /// Smallest multiplier of the tilt table.
        smallest_factor: f64,
    },
    /// The 12th number of a 1995 or 2002 file is not 1.
    #[error(
        "the reserved number after the ballast factor is {value}, not 1; it is not a factor and is ignored"
    )]
    ReservedNumberIgnored {
        /// Its value.
        value: f64,
    },
    /// More text after the table.
    #[error("{count} more entries from line {line} on, after the last intensity; ignored")]
    ExtraEntries {
        /// First line with them.
        line: usize,
        /// How many.
        count: usize,
    },
    /// Tiny negative intensities taken as 0.
    #[error(
        "{count} intensities slightly below zero, the lowest {lowest_cd} cd, first in line {line}; taken as 0"
    )]
    SmallNegatives {
        /// First line with one.
        line: usize,
        /// How many.
        count: usize,
        /// The lowest [cd].
        lowest_cd: f64,
    },
    /// All intensities are 0.
    #[error("all intensities are 0: the fixture gives no light")]
    NoLight,
    /// The file states no size of the luminous opening.
    #[error("the file states no size of the luminous opening; lustrous materials need one")]
    NoOpening,
    /// A size that makes no outline.
    #[error(
        "the opening {width_m} x {length_m} x {height_m} m (width, length, height) has no outline; lustrous materials need one"
    )]
    OpeningIncomplete {
        /// Width as in the file, with its sign [m].
        width_m: f64,
        /// Length as in the file, with its sign [m].
        length_m: f64,
        /// Height as in the file, with its sign [m].
        height_m: f64,
    },
    /// An opening so large that the unit is probably wrong.
    #[error("the luminous opening is {largest_m:.2} m long; the unit in the file may be wrong")]
    OpeningImplausible {
        /// Largest dimension [m].
        largest_m: f64,
    },
    /// Vertical angles that are not one of the usual sets.
    #[error(
        "vertical angles run from {first_deg} to {last_deg} degrees; no light is assumed outside"
    )]
    UnusualVerticalRange {
        /// First [deg].
        first_deg: f64,
        /// Last [deg].
        last_deg: f64,
    },
    /// The only plane is not at 0.
    #[error("the only plane is at {plane_deg} degrees; taken as round about the axis")]
    SinglePlaneElsewhere {
        /// Its angle [deg].
        plane_deg: f64,
    },
    /// Planes 0 and 360 are the same direction but differ.
    #[error("planes 0 and 360 differ by up to {difference_cd:.2} cd; plane 0 is used for both")]
    ClosingPlanesDiffer {
        /// Largest difference [cd].
        difference_cd: f64,
    },
    /// A gap before the turn closes.
    #[error("planes end at {last_deg} degrees; the gap to the first plane is interpolated")]
    WideClosingGap {
        /// Last plane [deg].
        last_deg: f64,
    },
    /// Type A or B data, turned so that H 0, V 0 is the aim.
    #[error(
        "Type {photometric_type} photometry: horizontal 0, vertical 0 is taken as the aim of the fixture"
    )]
    TurnedToAim {
        /// A or B.
        photometric_type: PhotometricType,
    },
    /// Type A or B vertical angles that start at 0.
    #[error(
        "Type {photometric_type} vertical angles start at 0; the other half is taken as its mirror image"
    )]
    VerticalMirrored {
        /// A or B.
        photometric_type: PhotometricType,
    },
    /// EULUMDAT with several lamp sets.
    #[error("{count} lamp sets; the first, {used:?}, is used")]
    MoreLampSets {
        /// How many.
        count: usize,
        /// Name of the first.
        used: String,
    },
    /// Integration and stated light output ratio disagree.
    #[error(
        "the file states {stated_lm:.1} lm (lamp flux x light output ratio), its intensities add up to {integrated_lm:.1} lm"
    )]
    FluxDisagrees {
        /// From lamp flux and light output ratio [lm].
        stated_lm: f64,
        /// By integration [lm].
        integrated_lm: f64,
    },
    /// More light than the lamps give.
    #[error(
        "the intensities add up to {integrated_lm:.1} lm, more than the {lamp_flux_lm:.1} lm of the lamps"
    )]
    MoreThanLamps {
        /// Lamp flux [lm].
        lamp_flux_lm: f64,
        /// By integration [lm].
        integrated_lm: f64,
    },
    /// The file says that its values are not candela.
    #[error(
        "the file says that its values are radiometric ({hint:?}), so candela and lumens have no meaning"
    )]
    Radiometric {
        /// The words that say so.
        hint: String,
    },
    /// EULUMDAT: measured tilted.
    #[error(
        "the luminaire was tilted by {tilt_deg} degrees during measurement; the intensities are used as listed"
    )]
    MeasuredTilted {
        /// Item 25 [deg].
        tilt_deg: f64,
    },
    /// EULUMDAT: every plane is stored although the symmetry needs fewer.
    #[error(
        "all {plane_count} planes are stored although symmetry {isym} needs fewer; all are used"
    )]
    AllPlanesStored {
        /// Item 4.
        plane_count: usize,
        /// Item 3.
        isym: u8,
    },
    /// EULUMDAT: a numeric line is blank or unreadable and has a default.
    #[error("line {line}: {item} is {found:?}; taken as {default}")]
    DefaultUsed {
        /// Line, from 1.
        line: usize,
        /// The item.
        item: Item,
        /// The text found (shortened).
        found: String,
        /// Value used.
        default: f64,
    },
}
