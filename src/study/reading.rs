//! One station at one instant: what is seen, and what is wrong with it.

use super::{
    Cause, Flag,
    sight::{GlareSourceInView, Looking, Sight, SourceKind},
};
use crate::{
    measure::{
        pattern,
        reads::{Neighbour, PatternReading, Reads, ReadsLimits, classify_pattern},
    },
    room::{Limits, Walk},
    scene::HungPiece,
    transport::{LightPart, LightState, Lustre, RoomLight, TileReading},
};

/// Everything about one station at one instant.
#[derive(Clone, Debug)]
pub struct StationReading {
    /// Tile luminances.
    pub tiles: TileReading,
    /// Mean luminance of the piece by area [cd/m2].
    pub mean_luminance_cd_m2: f32,
    /// Median over tiles of the relative standard error.
    pub relative_error: f32,
    /// Mean luminance of the piece over that of the wall around.
    pub glow: f32,
    /// Luminance at the 90th percentile by area over the 10th.
    pub play: f32,
    /// Mean change of the logarithm of tile luminance per metre walked to the next station [1/m].
    pub shift_per_m: Option<f32>,
    /// How the pattern reads.
    pub pattern: PatternReading,
    /// Luminance that the eye is adapted to [cd/m2], without the direct light of lamps and of the sun.
    pub adaptation_cd_m2: f32,
    /// Veiling luminance over the piece [cd/m2].
    pub veil_cd_m2: f32,
    /// Illuminance at the eye across the line of sight [lx].
    pub eye_illuminance_lx: f32,
    /// Unified glare rating of the fixtures; `None` with none in view.
    pub ugr: Option<f32>,
    /// Daylight glare probability, low-light correction applied; tested above 380 lx at the eye only.
    pub dgp: f32,
    /// Sources that counted, strongest first.
    pub sources: Vec<GlareSourceInView>,
    /// Whether the sun itself stands in the view; the pattern is then not to be judged.
    pub sun_in_view: bool,
    /// What is wrong.
    pub flags: Vec<Flag>,
}

/// What all readings of one walk share.
pub(super) struct Reader<'a> {
    pub room: &'a RoomLight,
    pub lustre: &'a Lustre,
    pub walk: &'a Walk,
    pub limits: &'a Limits,
    pub reads: &'a ReadsLimits,
    pub areas_m2: &'a [f32],
}

/// What all stations share at one instant.
pub(super) struct Light<'a> {
    pub state: &'a LightState,
    pub sun_on_tiles_lx: &'a [f32],
    pub surround_cd_m2: f32,
}

impl Reader<'_> {
    fn piece(&self) -> &HungPiece {
        self.lustre.piece()
    }

    /// Reads one station; `station_index` counts over all walks of the lustre.
    pub(super) fn read(
        &self,
        light: &Light,
        station_index: usize,
        pairs: &[Neighbour],
    ) -> StationReading {
        let station = &self.lustre.stations()[station_index];
        let eye = &self.lustre.eyes()[station_index];
        let tiles = self
            .lustre
            .read(light.state, light.sun_on_tiles_lx, station_index);
        // What is hidden takes no part in any figure.
        let seen_m2: Vec<f32> = self
            .areas_m2
            .iter()
            .zip(&tiles.visible)
            .map(|(area, visible)| area * visible)
            .collect();
        let mean = pattern::area_mean(&tiles.luminance_cd_m2, &seen_m2).unwrap_or(0.0);
        let looking = Looking {
            room: self.room,
            piece: self.piece(),
            station,
            eye,
            state: light.state,
            surround_cd_m2: light.surround_cd_m2,
            age_years: self.walk.age_years,
        };
        let sight = looking.see(&tiles);
        let surround = if light.surround_cd_m2 > 0.0 {
            light.surround_cd_m2
        } else {
            sight.adaptation_cd_m2
        };
        let classify = |veil_cd_m2: f32| {
            classify_pattern(
                &tiles.luminance_cd_m2,
                pairs,
                &seen_m2,
                f64::from(sight.adaptation_cd_m2),
                f64::from(veil_cd_m2),
                f64::from(self.walk.age_years),
                self.reads,
            )
        };
        let read = classify(sight.veil_cd_m2);
        // Only a lost pattern needs the answer without the veil.
        let unveiled = if read.class == Reads::Lost {
            classify(0.0).class
        } else {
            read.class
        };
        let mut reading = StationReading {
            mean_luminance_cd_m2: mean,
            relative_error: median_error(&tiles),
            glow: pattern::glow(mean, surround).unwrap_or(0.0),
            play: pattern::play(&tiles.luminance_cd_m2, &seen_m2).unwrap_or(1.0),
            shift_per_m: None,
            pattern: read,
            adaptation_cd_m2: sight.adaptation_cd_m2,
            veil_cd_m2: sight.veil_cd_m2,
            eye_illuminance_lx: sight.eye_lx,
            ugr: sight.ugr,
            dgp: sight.dgp,
            sources: sight.sources.clone(),
            sun_in_view: sight.sun.is_some(),
            flags: Vec::new(),
            tiles,
        };
        self.flag_dead(
            &mut reading,
            light,
            station_index,
            sight.worst_veil,
            unveiled,
        );
        self.flag_glints(&mut reading, light, station_index, &sight);
        self.flag_view(&mut reading, &sight);
        self.flag_mirror_images(&mut reading, light, station_index);
        reading
    }

    fn flag_dead(
        &self,
        reading: &mut StationReading,
        light: &Light,
        station_index: usize,
        worst_veil: Option<LightPart>,
        unveiled: Reads,
    ) {
        let station = &self.lustre.stations()[station_index];
        let to_eye = (station.eye - self.piece().centre).normalize_or_zero();
        let from_normal_rad = to_eye.dot(self.piece().normal).clamp(-1.0, 1.0).acos();
        let seen = pattern::area_mean(&reading.tiles.visible, self.areas_m2).unwrap_or(0.0);
        let dark = self.limits.dark_cd_m2 / reading.mean_luminance_cd_m2.max(1e-3);
        let (cause, severity) = if from_normal_rad >= std::f32::consts::FRAC_PI_2 {
            (Cause::Behind, 1.0)
        } else if from_normal_rad > self.limits.grazing_deg.to_radians() {
            (Cause::TooFlat, 1.0)
        } else if seen < 0.5 {
            (Cause::Hidden, 0.5 / seen.max(0.01))
        } else if dark > 1.0 {
            (Cause::TooDark, dark)
        } else if reading.pattern.class == Reads::Lost && !self.piece().neighbours.is_empty() {
            match worst_veil {
                Some(part) if unveiled != Reads::Lost => (Cause::Veiled(part), 1.0),
                _ if reading.pattern.too_dark => (Cause::TooDark, 1.0),
                // Neighbours differ enough, but not for their size.
                _ if reading.pattern.median_ratio >= self.reads.reads_ratio => {
                    (Cause::TooSmall, 1.0)
                }
                _ if self.is_lit_from_one_side(light, station_index) => (Cause::EqualTiles, 1.0),
                _ => (Cause::EvenLight, 1.0),
            }
        } else {
            return;
        };
        let mut flag = Flag::new(cause, severity);
        if cause == Cause::Hidden {
            let path = self.room.tracer().path(station.eye, -to_eye);
            flag.behind = path.end.map(|(surface, _)| surface);
        }
        reading.flags.push(flag);
    }

    /// Whether one lamp, one window or the sun gives most of the light of the middle tile.
    fn is_lit_from_one_side(&self, light: &Light, station_index: usize) -> bool {
        let middle = self.piece().tiles.len() / 2;
        let sun_lx = light.sun_on_tiles_lx[middle];
        let parts = self
            .lustre
            .parts(self.room, light.state, sun_lx, station_index, middle);
        let total: f32 = parts.iter().map(|p| p.1).sum();
        parts.iter().any(|(part, value)| {
            !matches!(part, LightPart::Room | LightPart::OpenSky) && *value > 0.5 * total
        })
    }

    /// Tiles bright enough to hurt, by the source that they throw.
    fn flag_glints(
        &self,
        reading: &mut StationReading,
        light: &Light,
        station_index: usize,
        sight: &Sight,
    ) {
        let limit = self.limits.glint_from_cd_m2(sight.adaptation_cd_m2);
        let mut glints: std::collections::BTreeMap<LightPart, Flag> =
            std::collections::BTreeMap::new();
        for (t, luminance) in reading.tiles.luminance_cd_m2.iter().enumerate() {
            if reading.tiles.visible[t] <= 0.0 || *luminance <= limit {
                continue;
            }
            let sun_lx = light.sun_on_tiles_lx[t];
            let parts = self
                .lustre
                .parts(self.room, light.state, sun_lx, station_index, t);
            let part = parts.first().map_or(LightPart::Room, |p| p.0);
            let tile = &self.piece().tiles[t];
            let flag = glints
                .entry(part)
                .or_insert_with(|| Flag::new(Cause::Glint(part), 1.0));
            flag.tiles.push(tile.id);
            if *luminance > flag.luminance_cd_m2 {
                flag.luminance_cd_m2 = *luminance;
                flag.severity = luminance / limit;
            }
            if flag.through.is_none()
                && let (LightPart::Sun, Some(sun_dir)) = (part, light.state.strengths.sun_dir)
            {
                flag.through = self
                    .room
                    .sun_path(tile.frame.origin, sun_dir)
                    .and_then(|p| p.1);
            }
        }
        reading.flags.extend(glints.into_values());
    }

    /// Lamps and the sun in direct view, and the glare of the view as a whole.
    fn flag_view(&self, reading: &mut StationReading, sight: &Sight) {
        if reading.pattern.class == Reads::Overpowering && reading.flags.is_empty() {
            reading.flags.push(Flag::new(Cause::Overpowering, 1.0));
        }
        let within = self.limits.aperture_within_deg.to_radians();
        for (fixture, luminance, from_gaze_rad) in &sight.openings {
            if *from_gaze_rad < within && *luminance > self.limits.aperture_cd_m2 {
                let severity = luminance / self.limits.aperture_cd_m2;
                let flag = Flag::new(Cause::BrightOpening(*fixture), severity);
                reading.flags.push(flag.with_luminance(*luminance));
            }
        }
        let dazzling = reading.dgp > self.limits.dgp;
        let severity = reading.dgp / self.limits.dgp;
        if let Some((luminance, from_gaze_rad, pane)) = sight.sun
            && (from_gaze_rad < self.limits.sun_within_deg.to_radians() || dazzling)
        {
            let mut flag = Flag::new(Cause::SunInView, severity.max(1.0)).with_luminance(luminance);
            flag.through = pane;
            reading.flags.push(flag);
        } else if dazzling {
            let cause = match reading
                .sources
                .first()
                .filter(|s| s.share > 0.3)
                .map(|s| s.source)
            {
                Some(SourceKind::Pane(p)) => Some(Cause::BrightPane(p)),
                Some(SourceKind::Fixture(f)) => Some(Cause::BrightFixtures(f)),
                // The piece's own glints are told above, where they are any.
                Some(SourceKind::Tile(_)) if !reading.flags.is_empty() => None,
                _ => Some(Cause::BrightView),
            };
            reading.flags.extend(cause.map(|c| Flag::new(c, severity)));
        }
        let worst_lamp = reading.sources.iter().find_map(|s| match s.source {
            SourceKind::Fixture(f) => Some(f),
            _ => None,
        });
        if let (Some(ugr), Some(fixture)) = (reading.ugr, worst_lamp)
            && ugr > self.limits.ugr
            && !reading
                .flags
                .iter()
                .any(|f| f.cause == Cause::BrightFixtures(fixture))
        {
            reading.flags.push(Flag::new(
                Cause::BrightFixtures(fixture),
                ugr / self.limits.ugr,
            ));
        }
    }

    /// Mirror images: polished tiles or coats whose mirror direction meets a lamp or a bright pane.
    fn flag_mirror_images(
        &self,
        reading: &mut StationReading,
        light: &Light,
        station_index: usize,
    ) {
        let mut found: std::collections::BTreeMap<LightPart, Flag> =
            std::collections::BTreeMap::new();
        let disturbing = 10.0 * reading.adaptation_cd_m2.max(1.0);
        for mirror in self.lustre.mirrors(station_index) {
            let t = mirror.tile_index as usize;
            let luminance = mirror.luminance_cd_m2(light.state);
            // An image disturbs when it outshines the eye's adaptation and stands out of its tile.
            let stands_out = luminance > 0.3 * reading.tiles.luminance_cd_m2[t];
            if reading.tiles.visible[t] > 0.0 && luminance > disturbing && stands_out {
                let flag = found
                    .entry(mirror.part)
                    .or_insert_with(|| Flag::new(Cause::MirrorImage(mirror.part), 1.0));
                flag.tiles.push(self.piece().tiles[t].id);
                flag.luminance_cd_m2 = flag.luminance_cd_m2.max(luminance);
                flag.severity = flag.luminance_cd_m2 / disturbing;
            }
        }
        for (part, flag) in found {
            if !reading.flags.iter().any(|f| f.cause == Cause::Glint(part)) {
                reading.flags.push(flag);
            }
        }
    }
}

fn median_error(tiles: &TileReading) -> f32 {
    let mut errors: Vec<f32> = tiles
        .standard_error_cd_m2
        .iter()
        .zip(&tiles.luminance_cd_m2)
        .zip(&tiles.visible)
        .filter(|((_, l), v)| **l > 0.0 && **v > 0.0)
        .map(|((e, l), _)| e / l)
        .collect();
    if errors.is_empty() {
        return 0.0;
    }
    let middle = errors.len() / 2;
    *errors.select_nth_unstable_by(middle, f32::total_cmp).1
}
