//! The fields of a room file, as written. Lengths in metres, angles in degrees unless a name says so.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{material::MaterialSpec, piece::PieceSpec};

/// A point on the plan: (x to the right, y up the page) [m].
pub type PlanPoint = (f32, f32);

fn one() -> f32 {
    1.0
}

/// A whole room file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoomFile {
    /// Version of the format; see [`super::ROOM_VERSION`].
    pub version: u32,
    /// Name of the project.
    pub name: String,
    /// Anything worth saying; demos say here that they are invented.
    #[serde(default)]
    pub note: String,
    /// Where on earth, and how the plan lies.
    pub site: SiteFile,
    /// Named surface finishes.
    pub finishes: BTreeMap<String, Finish>,
    /// Named glazings.
    #[serde(default)]
    pub glazings: BTreeMap<String, GlazingFile>,
    /// Materials of this project, beside the library's.
    #[serde(default)]
    pub materials: BTreeMap<String, MaterialSpec>,
    /// Rooms, halls, corridors, courts.
    pub spaces: Vec<Space>,
    /// Windows, doors and openings in walls.
    #[serde(default)]
    pub openings: Vec<Opening>,
    /// Openings in ceilings.
    #[serde(default)]
    pub rooflights: Vec<Rooflight>,
    /// Columns, counters, benches, stairs, balconies; and outside: facing buildings, overhangs, trees.
    #[serde(default)]
    pub solids: Vec<Solid>,
    /// Named kinds of fixture.
    #[serde(default)]
    pub fixture_types: BTreeMap<String, FixtureType>,
    /// Fixtures in place.
    #[serde(default)]
    pub fixtures: Vec<FixtureFile>,
    /// Visitors' paths.
    pub walks: Vec<Walk>,
    /// The artwork.
    pub piece: PieceSource,
    /// Where it hangs.
    pub placement: Placement,
    /// Other places worth comparing; drawn on the plan, not studied yet.
    #[serde(default)]
    pub candidates: Vec<Placement>,
    /// Limits for flags.
    #[serde(default)]
    pub limits: Limits,
    /// What the study covers when the command line does not say.
    #[serde(default)]
    pub study: StudyDefaults,
}

/// Where the building stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteFile {
    /// Latitude, north positive [deg].
    pub latitude_deg: f64,
    /// Longitude, east positive [deg].
    pub longitude_deg: f64,
    /// Height above the sea [m].
    #[serde(default)]
    pub elevation_m: f64,
    /// IANA time zone, e.g. "Europe/Lisbon".
    pub zone: String,
    /// True bearing of plan +y, clockwise from north [deg].
    #[serde(default)]
    pub bearing_deg: f64,
    /// Reflectance of the ground outside.
    #[serde(default = "default_ground")]
    pub ground_reflectance: f32,
    /// Reflectance of the building's own outside, where its windows can see it.
    #[serde(default = "default_ground")]
    pub facade_reflectance: f32,
    /// Luminous turbidity of clear skies: about 2.5 clean, 3 rural, 4.5 city.
    #[serde(default = "default_turbidity")]
    pub turbidity: f64,
}

fn default_ground() -> f32 {
    0.2
}

fn default_turbidity() -> f64 {
    3.0
}

/// A diffuse finish.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// Share of light thrown back, 0..=1.
    pub reflectance: f32,
    /// Hue for pictures: linear Rec. 709, any scale.
    #[serde(default = "grey")]
    pub hue_rgb: (f32, f32, f32),
}

fn grey() -> (f32, f32, f32) {
    (1.0, 1.0, 1.0)
}

/// A named glazing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlazingFile {
    /// Visible transmittance straight through, 0..=1.
    pub transmittance: f32,
    /// Panes of glass, 1 to 3: sets how transmittance falls with angle.
    #[serde(default = "two")]
    pub pane_count: u8,
    /// Transmittance at angles of incidence, (degrees, value) rising from 0, where the maker gives it; in place
    /// of `transmittance` and `pane_count`.
    #[serde(default)]
    pub by_angle: Vec<(f32, f32)>,
    /// Share of the transmitted light that is scattered (etched or fritted glass), 0..=1.
    #[serde(default)]
    pub diffusing: f32,
}

fn two() -> u8 {
    2
}

/// A part of the building with one floor and one ceiling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Space {
    /// Name, unique.
    pub name: String,
    /// Corners of the plan; wall i runs from corner i to the next.
    pub outline_m: Vec<PlanPoint>,
    /// Height of the floor.
    #[serde(default)]
    pub floor_m: f32,
    /// The ceiling.
    pub ceiling: Ceiling,
    /// Finish of the walls.
    pub walls: String,
    /// Finishes of single walls, by index.
    #[serde(default)]
    pub wall_finishes: BTreeMap<usize, String>,
    /// Finish of the floor.
    pub floor: String,
    /// Finish of the ceiling.
    pub ceiling_finish: String,
}

/// Shape of a ceiling. Heights above datum, as floors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Ceiling {
    /// Level.
    Flat {
        /// Height.
        height_m: f32,
    },
    /// A plane that rises from one place to another on the plan.
    Sloped {
        /// Plan point and height at the low end.
        low: (f32, f32, f32),
        /// Plan point and height at the high end.
        high: (f32, f32, f32),
    },
    /// None: open to the sky.
    Open {
        /// Height of the walls.
        height_m: f32,
    },
}

/// A window, door or plain opening in a wall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Name, unique.
    pub name: String,
    /// Name of the space.
    pub space: String,
    /// Index of the wall.
    pub wall: usize,
    /// Distance from the wall's first corner to the nearer edge.
    pub offset_m: f32,
    /// Width.
    pub width_m: f32,
    /// Height of the lower edge above the space's floor.
    #[serde(default)]
    pub sill_m: f32,
    /// Height from lower to upper edge.
    pub height_m: f32,
    /// Depth from the wall's face to the glass.
    #[serde(default)]
    pub reveal_m: f32,
    /// What fills it.
    pub filling: Filling,
}

/// What fills an opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Filling {
    /// Glass to the outside.
    Window(WindowFilling),
    /// Glass to another space, or to no space that is modelled (a lit void).
    Inner(WindowFilling),
    /// A closed door.
    Door {
        /// Finish of the leaf.
        finish: String,
    },
    /// Nothing; to another space where one touches, else to the outside.
    Open,
}

/// A glazed filling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowFilling {
    /// Name of the glazing.
    pub glazing: String,
    /// Share of the opening that is frame, 0..1.
    #[serde(default)]
    pub frame_share: f32,
    /// What dirt leaves of the light, 0..=1.
    #[serde(default = "one")]
    pub dirt: f32,
    /// Blind, where there is one.
    #[serde(default)]
    pub blind: Option<Blind>,
}

/// A fabric blind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blind {
    /// Share of the window that is covered, 0..=1.
    pub drawn: f32,
    /// Share of the fabric that is open holes: passes light unscattered, 0..=1.
    #[serde(default)]
    pub openness: f32,
    /// Share of light that the fabric passes scattered, 0..=1.
    #[serde(default)]
    pub scattered: f32,
}

/// An opening in the ceiling of a space.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rooflight {
    /// Name, unique.
    pub name: String,
    /// Name of the space.
    pub space: String,
    /// Corners on the plan, inside the space.
    pub outline_m: Vec<PlanPoint>,
    /// Height of the shaft from ceiling to glass.
    #[serde(default)]
    pub shaft_m: f32,
    /// Finish of the shaft's sides.
    #[serde(default)]
    pub shaft_finish: Option<String>,
    /// What fills it.
    pub filling: WindowFilling,
}

/// A box or a prism.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    /// Name, unique.
    pub name: String,
    /// Corners on the plan.
    pub outline_m: Vec<PlanPoint>,
    /// Height of its underside.
    #[serde(default)]
    pub from_m: f32,
    /// Height of its top.
    pub to_m: f32,
    /// Finish of all its faces.
    pub finish: String,
    /// Whether it stands outside.
    #[serde(default)]
    pub outside: bool,
}

/// A kind of fixture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FixtureType {
    /// Where its intensities come from.
    pub light: FixtureLight,
    /// Luminous opening, where the file has none or it should be another.
    #[serde(default)]
    pub aperture: Option<ApertureFile>,
    /// Colour temperature [K].
    #[serde(default = "warm")]
    pub cct_k: f32,
    /// Power [W], for schedules.
    #[serde(default)]
    pub watts: Option<f32>,
    /// Share of initial light left when maintained, 0..=1.
    #[serde(default = "default_maintenance")]
    pub maintenance_factor: f32,
}

fn warm() -> f32 {
    3000.0
}

fn default_maintenance() -> f32 {
    0.8
}

/// Source of a fixture's intensities.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FixtureLight {
    /// A photometric file beside the room file.
    File(String),
    /// A generic round beam.
    Beam {
        /// Full angle at half of the centre intensity.
        beam_deg: f32,
        /// Full angle at a tenth of the centre intensity.
        #[serde(default)]
        field_deg: Option<f32>,
        /// Light of the fixture [lm]; give this or `centre_cd`.
        #[serde(default)]
        flux_lm: Option<f32>,
        /// Intensity in the centre [cd].
        #[serde(default)]
        centre_cd: Option<f32>,
    },
}

/// A luminous opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ApertureFile {
    /// Round.
    Disc {
        /// Diameter [mm].
        diameter_mm: f32,
    },
    /// Rectangular.
    Rectangle {
        /// Along the C0 axis [mm].
        length_mm: f32,
        /// Across [mm].
        width_mm: f32,
    },
}

/// A fixture in place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FixtureFile {
    /// Name or number, unique.
    pub name: String,
    /// Name of its kind.
    pub kind: String,
    /// Place: plan x, plan y, height.
    pub at_m: (f32, f32, f32),
    /// Where it aims.
    #[serde(default)]
    pub aim: Aim,
    /// Turn about the aim, counter-clockwise as seen from behind the fixture.
    #[serde(default)]
    pub roll_deg: f32,
    /// Output as a share of full, 0..=1.
    #[serde(default = "one")]
    pub dimming: f32,
    /// Hours at which it is lit: from, to, as "HH:MM"; past midnight where from is later. Always when left out.
    #[serde(default)]
    pub lit: Option<(String, String)>,
}

/// Where a fixture aims.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Aim {
    /// Straight down.
    #[default]
    Down,
    /// Straight up.
    Up,
    /// At a point: plan x, plan y, height.
    At(f32, f32, f32),
    /// At the middle of the piece, or to the side and up from it [m], as seen from its front.
    Piece {
        /// To the right.
        #[serde(default)]
        right_m: f32,
        /// Up.
        #[serde(default)]
        up_m: f32,
    },
}

/// A visitor's path.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Walk {
    /// Name, unique.
    pub name: String,
    /// Corners on the plan.
    pub points_m: Vec<PlanPoint>,
    /// Height of the floor under the walk, above datum.
    #[serde(default)]
    pub floor_m: f32,
    /// Heights of the floor at each of `points_m`, for stairs and ramps; in place of `floor_m`.
    #[serde(default)]
    pub floors_m: Vec<f32>,
    /// Height of the eye above that floor.
    #[serde(default = "standing")]
    pub eye_m: f32,
    /// Walking speed [m/s].
    #[serde(default = "strolling")]
    pub speed_m_s: f32,
    /// Distance between stations.
    #[serde(default = "half")]
    pub step_m: f32,
    /// Where eyes point.
    #[serde(default)]
    pub look: Look,
    /// Hours at which people walk here: from, to, as "HH:MM".
    #[serde(default)]
    pub open: Option<(String, String)>,
    /// Share of all visitors, any scale.
    #[serde(default = "one")]
    pub share: f32,
    /// Age of the observer, for glare and contrast [years].
    #[serde(default = "observer_age")]
    pub age_years: f32,
    /// Names for places along the walk.
    #[serde(default)]
    pub marks: Vec<Mark>,
    /// Whether people walk up or down stairs here.
    #[serde(default)]
    pub stairs: bool,
}

fn standing() -> f32 {
    1.55
}

fn strolling() -> f32 {
    0.8
}

fn half() -> f32 {
    0.5
}

fn observer_age() -> f32 {
    60.0
}

/// A named place along a walk.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Distance from the start.
    pub at_m: f32,
    /// Name, e.g. "the lift".
    pub name: String,
}

/// Where eyes point.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Look {
    /// At the middle of the piece.
    #[default]
    Piece,
    /// Ahead along the walk.
    Ahead,
    /// At a point: plan x, plan y, height.
    At(f32, f32, f32),
}

/// The artwork.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PieceSource {
    /// A piece file beside the room file.
    File(String),
    /// Written here.
    Inline(PieceSpec),
}

/// Where a piece hangs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// Name.
    #[serde(default)]
    pub name: String,
    /// On what.
    pub on: Support,
    /// Height of its middle above the space's floor.
    pub centre_m: f32,
    /// Turn in its plane, counter-clockwise as seen from the front.
    #[serde(default)]
    pub turn_deg: f32,
    /// Whether it is mirrored left to right.
    #[serde(default)]
    pub mirrored: bool,
}

/// What carries a piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Support {
    /// A wall.
    Wall {
        /// Name of the space.
        space: String,
        /// Index of the wall.
        wall: usize,
        /// Distance from the wall's first corner to the middle of the piece.
        along_m: f32,
    },
    /// A stand in the room.
    Stand {
        /// Place on the plan.
        at_m: PlanPoint,
        /// Direction that the front faces, clockwise from plan +y.
        facing_deg: f32,
        /// Lean: positive tips the front upward.
        #[serde(default)]
        lean_deg: f32,
    },
}

/// Limits for flags. Each names where its default comes from; change them for the project.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Tile luminance that counts as a glint [cd/m2] (own choice).
    pub glint_cd_m2: f32,
    /// Tile luminance over adaptation that counts as a glint (own choice).
    pub glint_over_adaptation: f32,
    /// Tile luminance below which nothing is a glint [cd/m2] (older European practice for reflections, from memory).
    pub glint_least_cd_m2: f32,
    /// Daylight glare probability above which a view is glaring (EN 17037: 0.40 is disturbing above).
    pub dgp: f32,
    /// Unified glare rating above which a view is glaring (EN 12464-1 practice, from memory: 22 for public areas).
    pub ugr: f32,
    /// Luminance of an opening in direct view that dazzles [cd/m2] (own choice).
    pub aperture_cd_m2: f32,
    /// Angle from the gaze within which an opening counts [deg] (own choice).
    pub aperture_within_deg: f32,
    /// Angle from the gaze within which the sun counts as seen [deg] (own choice: the edge of the useful field).
    pub sun_within_deg: f32,
    /// Mean luminance below which the piece is too dark to see [cd/m2] (physics of vision: colour fades near 3; own choice).
    pub dark_cd_m2: f32,
    /// Angle of view from the normal above which the piece is seen too flat [deg] (own choice: there it looks
    /// narrower than a fifth of its width).
    pub grazing_deg: f32,
    /// Year's light allowed on the material [lx h]; `None` takes the material's class.
    pub exposure_lx_h: Option<f32>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            glint_cd_m2: 5000.0,
            glint_over_adaptation: 100.0,
            glint_least_cd_m2: 1000.0,
            dgp: 0.40,
            ugr: 22.0,
            aperture_cd_m2: 30_000.0,
            aperture_within_deg: 40.0,
            sun_within_deg: 60.0,
            dark_cd_m2: 1.0,
            grazing_deg: 78.0,
            exposure_lx_h: None,
        }
    }
}

/// What a study covers by default.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct StudyDefaults {
    /// Days as "YYYY-MM-DD".
    pub days: Vec<String>,
    /// First instant of each day, "HH:MM".
    pub from: String,
    /// Last instant of each day, "HH:MM".
    pub to: String,
    /// Minutes between instants.
    pub step_min: u32,
    /// Skies: "clear", "overcast", "intermediate", "hazy".
    pub skies: Vec<String>,
}

impl Default for StudyDefaults {
    fn default() -> Self {
        Self {
            days: ["2026-03-20", "2026-06-21", "2026-12-21"]
                .map(String::from)
                .to_vec(),
            from: "08:00".into(),
            to: "20:00".into(),
            step_min: 30,
            skies: ["clear", "overcast"].map(String::from).to_vec(),
        }
    }
}
