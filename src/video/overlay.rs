//! What is drawn over each frame: caption, small plan with the visitor's dot, names of two halves, the title card.
//!
//! Input: a frame's pixels (RGBA, display-encoded, row-major from the top); output: the same with words. Drawings are
//! made once and used again as long as their words stay.

use glam::Vec2;

use super::{FilmKind, Frame, Script};
use crate::{
    measure::format,
    outcome,
    report::{
        Drawing, PictureWords, ReportError, SmallPlan, draw_svg, small_plan, words_on_picture,
    },
    room::{BuiltRoom, FixtureLight},
    study::place_words,
};

/// A picture's pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Rgba {
    /// Width and height [pixels].
    pub size: [usize; 2],
    /// Display-encoded RGBA, row-major from the top.
    pub bytes: Vec<u8>,
}

/// How long a title card is shown, its going included [s].
pub const TITLE_S: f32 = 4.0;
/// How long it takes to go [s].
const TITLE_FADE_S: f32 = 0.6;

/// What is wanted over the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct OverlayWishes {
    /// Place, clock and solar time.
    pub captions: bool,
    /// A small plan with the visitor's dot.
    pub plan: bool,
    /// A card at the start.
    pub title: bool,
    /// Names of the left and the right half, where the frame has two.
    pub halves: Option<[String; 2]>,
}

/// Draws over the frames of one film.
pub struct Overlay {
    wishes: OverlayWishes,
    size: [usize; 2],
    walk: usize,
    plan: Option<(SmallPlan, Drawing, f32)>,
    title: Option<Drawing>,
    halves: Vec<Drawing>,
    caption: Option<([String; 2], Drawing)>,
}

impl Overlay {
    /// Makes the drawings that stay.
    ///
    /// # Errors
    /// A drawing cannot be made.
    pub fn new(
        room: &BuiltRoom,
        script: &Script,
        wishes: OverlayWishes,
        size: [usize; 2],
    ) -> Result<Self, ReportError> {
        let walk = script.request.walk;
        let picture = size.map(|s| s as f32);
        let plan = if wishes.plan {
            let points: Vec<Vec2> = room.walks[walk]
                .walk
                .points_m
                .iter()
                .map(|p| Vec2::new(p.0, p.1))
                .collect();
            let most = Vec2::new(0.26 * picture[0], 0.30 * picture[1]);
            // Drawn at its own size and scaled, so that its lines are as bold in a small film.
            let scale = picture[1] / 720.0;
            let small = small_plan(&outcome::plan(room, None), &points, most / scale);
            let drawing = draw_svg(&small.svg, scale)?;
            Some((small, drawing, scale))
        } else {
            None
        };
        let title = if wishes.title {
            let card =
                words_on_picture(&title_words(room, script, wishes.halves.is_some()), picture);
            Some(draw_svg(&card, 1.0)?)
        } else {
            None
        };
        let names = wishes.halves.iter().flatten();
        let halves = names
            .map(|name| {
                let words = PictureWords::Caption {
                    first: name.clone(),
                    second: String::new(),
                };
                draw_svg(
                    &words_on_picture(&words, [0.8 * picture[0], picture[1]]),
                    1.0,
                )
            })
            .collect::<Result<_, _>>()?;
        Ok(Self {
            wishes,
            size,
            walk,
            plan,
            title,
            halves,
            caption: None,
        })
    }

    /// Draws over one frame (number and its script).
    ///
    /// # Errors
    /// A drawing cannot be made.
    pub fn draw(
        &mut self,
        room: &BuiltRoom,
        script: &Script,
        number: usize,
        picture: &mut [u8],
    ) -> Result<(), ReportError> {
        let frame = &script.frames[number];
        let [width, height] = self.size;
        // The card covers everything until it goes; then the other words come.
        let rate = script.request.frames_per_s as f32;
        let card = match &self.title {
            Some(_) => {
                ((script.opening as f32 - number as f32) / (TITLE_FADE_S * rate)).clamp(0.0, 1.0)
            }
            None => 0.0,
        };
        if let Some(drawing) = &self.title
            && card > 0.0
        {
            fade(drawing, card).over(picture, self.size, [0, 0]);
        }
        if card > 0.5 {
            return Ok(());
        }
        let edge = (height / 36).max(4) as i64;
        if self.halves.len() == 2 {
            divide(picture, self.size);
            for (k, name) in self.halves.iter().enumerate() {
                name.over(picture, self.size, [edge + (k * width / 2) as i64, edge]);
            }
        }
        if let Some((small, drawing, scale)) = &self.plan {
            let at = [
                width as i64 - edge - drawing.size[0] as i64,
                height as i64 - edge - drawing.size[1] as i64,
            ];
            drawing.over(picture, self.size, at);
            let on_plan = |p: glam::Vec3| {
                let px = small.place(Vec2::new(p.x, -p.z)) * *scale;
                px + Vec2::new(at[0] as f32, at[1] as f32)
            };
            let eye = frame.eye.eye;
            let ahead = on_plan(eye + frame.eye.gaze_dir * 1.5);
            stroke(picture, self.size, on_plan(eye), ahead, 1.2 * scale);
            dot(picture, self.size, on_plan(eye), 5.0 * scale);
        }
        if self.wishes.captions {
            let words = caption_words(room, script, self.walk, frame);
            if self.caption.as_ref().is_none_or(|c| c.0 != words) {
                let [first, second] = words.clone();
                let svg = words_on_picture(
                    &PictureWords::Caption { first, second },
                    self.size.map(|s| s as f32),
                );
                self.caption = Some((words, draw_svg(&svg, 1.0)?));
            }
            if let Some((_, drawing)) = &self.caption {
                let at = [edge, height as i64 - edge - drawing.size[1] as i64];
                drawing.over(picture, self.size, at);
            }
        }
        Ok(())
    }
}

fn fade(drawing: &Drawing, share: f32) -> Drawing {
    if share >= 1.0 {
        return drawing.clone();
    }
    let scaled = |b: &u8| (f32::from(*b) * share).round() as u8;
    Drawing {
        size: drawing.size,
        rgba: drawing.rgba.iter().map(scaled).collect(),
    }
}

/// "20 March 2026".
fn date_words(frame: &Frame) -> String {
    outcome::date_words(frame.instant.civil.date())
}

fn has_daylight(room: &BuiltRoom) -> bool {
    !room.scene.panes.is_empty()
}

/// Words of the card: the room, the piece, the walk, what the film shows, and what a screen cannot.
fn title_words(room: &BuiltRoom, script: &Script, halves: bool) -> PictureWords {
    let walk = &room.walks[script.request.walk].walk;
    let (first, last) = (&script.frames[0], &script.frames[script.frames.len() - 1]);
    let clock = |frame: &Frame| outcome::clock_text(frame.instant.clock_min);
    let when = if script.clock_stands() {
        format!("{}, {}", date_words(first), clock(first))
    } else {
        format!("{}, {} to {}", date_words(first), clock(first), clock(last))
    };
    let what = match script.request.kind {
        FilmKind::Walk { .. } => walk.name.clone(),
        FilmKind::Day { .. } => format!("The day at one place: {}", place(walk, first)),
        FilmKind::WalkThroughDay { .. } => format!("{}, while the day goes by", walk.name),
    };
    let sky = if has_daylight(room) {
        format!(", {} sky", script.request.sky)
    } else {
        String::new()
    };
    let mut foot = String::from(
        "Brightness on a screen is not the brightness on site: the picture is adjusted as an eye adapts. Computed, not photographed.",
    );
    if halves {
        foot.push_str(" Both halves are shown as one eye adapted to both would see them.");
    }
    if room.file.note.to_lowercase().contains("invented") {
        foot.push_str(" Place, piece and fixtures of this demonstration are invented.");
    }
    let generic = room
        .file
        .fixture_types
        .values()
        .any(|t| matches!(t.light, FixtureLight::Beam { .. }));
    if generic && !room.file.fixtures.is_empty() {
        foot.push_str(" Lamps have generic beams.");
    }
    PictureWords::Title {
        title: room.file.name.clone(),
        lines: vec![room.tiling.name.clone(), what, format!("{when}{sky}")],
        foot,
    }
}

/// "7.2 m along, by the column".
fn place(walk: &crate::room::Walk, frame: &Frame) -> String {
    let at_m = format!("{:.1} m along", frame.eye.distance_m);
    let words = place_words(walk, &[frame.eye, frame.eye], (1, 1));
    if words.starts_with("by ") {
        format!("{at_m}, {words}")
    } else {
        at_m
    }
}

fn caption_words(room: &BuiltRoom, script: &Script, walk: usize, frame: &Frame) -> [String; 2] {
    let walk = &room.walks[walk].walk;
    let clock = outcome::clock_text(frame.instant.clock_min);
    let mut when = format!("{}, {clock}", date_words(frame));
    if has_daylight(room) {
        let solar = outcome::clock_text((frame.instant.solar_time_h * 60.0).round() as u32);
        let sun = if frame.instant.sun.apparent_elevation_rad > 0.0 {
            let degrees = frame.instant.sun.apparent_elevation_rad.to_degrees();
            format!("sun {}° high", format::significant(degrees.round(), 2))
        } else {
            "no sun".into()
        };
        when.push_str(&format!(
            " · solar time {solar} · {sun} · {} sky",
            script.request.sky
        ));
    }
    [format!("{} · {}", walk.name, place(walk, frame)), when]
}

/// Mixes a colour into a pixel.
fn blend(picture: &mut [u8], size: [usize; 2], x: i64, y: i64, rgb: [u8; 3], share: f32) {
    if x < 0 || y < 0 || x >= size[0] as i64 || y >= size[1] as i64 || share <= 0.0 {
        return;
    }
    let at = (y as usize * size[0] + x as usize) * 4;
    for (c, colour) in rgb.into_iter().enumerate() {
        let under = f32::from(picture[at + c]);
        picture[at + c] = (under + (f32::from(colour) - under) * share.min(1.0)).round() as u8;
    }
}

/// A light dot with a dark rim.
fn dot(picture: &mut [u8], size: [usize; 2], at: Vec2, radius: f32) {
    let radius = radius.max(2.5);
    let reach = radius.ceil() as i64 + 2;
    for dy in -reach..=reach {
        for dx in -reach..=reach {
            let (x, y) = (at.x.floor() as i64 + dx, at.y.floor() as i64 + dy);
            let away = Vec2::new(x as f32 + 0.5, y as f32 + 0.5).distance(at);
            let inside = |r: f32| (r - away + 0.5).clamp(0.0, 1.0);
            blend(picture, size, x, y, [20, 23, 26], inside(radius + 1.2));
            blend(picture, size, x, y, [255, 209, 102], inside(radius));
        }
    }
}

/// A light line.
fn stroke(picture: &mut [u8], size: [usize; 2], a: Vec2, b: Vec2, half: f32) {
    let (low, high) = (a.min(b) - 3.0, a.max(b) + 3.0);
    for y in low.y as i64..=high.y as i64 {
        for x in low.x as i64..=high.x as i64 {
            let p = Vec2::new(x as f32 + 0.5, y as f32 + 0.5);
            let along = ((p - a).dot(b - a) / (b - a).length_squared().max(1e-6)).clamp(0.0, 1.0);
            let away = p.distance(a + (b - a) * along);
            let share = (half.max(0.7) - away + 0.5).clamp(0.0, 1.0);
            blend(picture, size, x, y, [255, 209, 102], share);
        }
    }
}

/// The line between two halves.
fn divide(picture: &mut [u8], size: [usize; 2]) {
    let half = (size[1] / 360).max(1) as i64;
    let middle = size[0] as i64 / 2;
    for y in 0..size[1] as i64 {
        for x in middle - half..middle + half {
            blend(picture, size, x, y, [244, 241, 234], 1.0);
        }
    }
}
