//! For the electrician and the installer: fixtures, aiming sheet, hanging sheet.

use serde_json::{Value, json};

use super::*;

impl Made<'_> {
    pub(super) fn fixtures(&self) -> Vec<Value> {
        let rows = self
            .parts
            .schedule
            .iter()
            .map(|r| {
                let lit = r.lit.as_ref().map_or("always".into(), |(a, b)| {
                    let over = if a > b { ", overnight" } else { "" };
                    format!("{a} to {b}{over}")
                });
                let walls: Vec<String> = r
                    .from_walls_m
                    .iter()
                    .map(|(wall, m)| format!("{} from the {wall}", self.length(*m)))
                    .collect();
                vec![
                    r.order.to_string(),
                    r.name.clone(),
                    r.kind.clone(),
                    walls.join(", "),
                    self.length(r.height_m),
                    format!("{:.0}°", r.beam_deg),
                    format!("{:.0} %", r.dimming * 100.0),
                    format!("{:.0} K", r.cct_k),
                    r.watts.map_or(String::new(), |w| format!("{w:.0} W")),
                    lit,
                ]
            })
            .collect();
        let watts: f32 = self.parts.schedule.iter().filter_map(|r| r.watts).sum();
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(table(
            &[
                ("", "right", "auto"),
                ("Fixture", "left", "auto"),
                ("Kind", "left", "1fr"),
                ("Place", "left", "2fr"),
                ("Height", "right", "auto"),
                ("Beam", "right", "auto"),
                ("Dim to", "right", "auto"),
                ("CCT", "right", "auto"),
                ("Power", "right", "auto"),
                ("Lit", "left", "auto"),
            ],
            rows,
            &format!(
                "In the order that saves ladder moves; places are of the middle of the luminous opening, from the finished wall and floor. Beam: full angle at half of the peak. Dim to: share of the light, set with a meter. Power at full output, together {watts:.0} W. Pan, tilt and aim are on the aiming sheet."
            ),
            true,
        ));
        blocks.push(text(self.kinds_words()));
        if let Some(most_lx) = self.parts.lamps_most_lx {
            let (limit_lx, source) = crate::advice::aim::most_lx(self.parts.room);
            let computed = format!(
                "Computed with all fixtures of this list lit as listed, new lamps, no daylight: at most {} on a tile; at most {} is wanted ({source}).",
                format::lux(f64::from(most_lx)),
                format::lux(f64::from(limit_lx))
            );
            blocks.push(if most_lx > limit_lx {
                let share = format::percent(f64::from(limit_lx / most_lx));
                note(
                    "caution",
                    "More light than the limit",
                    &format!("{computed} All dimmed to {share} of what is listed, they would keep to it; ask the artist and a conservator before setting them."),
                )
            } else {
                text(computed)
            });
        }
        let open: Vec<String> = self.lamp_troubles();
        if !open.is_empty() {
            blocks.push(note(
                "caution",
                "Open points before these fixtures are ordered",
                "What visitors would see of these lamps, and what to try:",
            ));
            blocks.push(list(&open));
        }
        blocks.push(heading("To be filled in by the electrician"));
        let blank: Vec<Vec<String>> = self
            .parts
            .schedule
            .iter()
            .map(|r| {
                let mut row = vec![r.name.clone()];
                row.resize(7, String::new());
                row
            })
            .collect();
        blocks.push(table(
            &[
                ("Fixture", "left", "auto"),
                ("Maker and code", "left", "2fr"),
                ("Circuit", "left", "1fr"),
                ("Driver, dimmer", "left", "1fr"),
                ("Control, scene", "left", "1fr"),
                ("Accessory", "left", "1fr"),
                ("New or there", "left", "1fr"),
            ],
            blank,
            "",
            true,
        ));
        if let Some(words) = self.mixed_colours() {
            blocks.push(note("attention", "Mixed colours of light", &words));
        }
        blocks.push(note(
            "caution",
            "Electrical and mechanical work",
            &outcome::FIXTURE_CAUTIONS.join(" "),
        ));
        blocks
    }

    /// Kinds of fixture with the light that was computed with.
    pub(super) fn kinds_words(&self) -> String {
        let file = &self.parts.room.file;
        let used = |name: &str| file.fixtures.iter().any(|f| f.kind == name);
        let kinds: Vec<String> = file
            .fixture_types
            .iter()
            .filter(|(name, _)| used(name))
            .map(|(name, kind)| match &kind.light {
                FixtureLight::File(path) => format!("{name}: photometric file {path}"),
                FixtureLight::Beam {
                    beam_deg,
                    flux_lm,
                    centre_cd,
                    ..
                } => {
                    let light = match (flux_lm, centre_cd) {
                        (Some(lm), _) => format!(", {lm:.0} lm"),
                        (None, Some(cd)) => format!(", {cd:.0} cd in the centre"),
                        (None, None) => String::new(),
                    };
                    format!("{name}: a generic beam of {beam_deg:.0}°{light}, no maker's file")
                }
            })
            .collect();
        format!(
            "Computed with: {}. Another product needs the same beam and light, or a new computation.",
            kinds.join("; ")
        )
    }

    /// Stretches that a lamp causes, with what to do.
    pub(super) fn lamp_troubles(&self) -> Vec<String> {
        let of_lamp = |cause: Cause| {
            matches!(
                cause,
                Cause::BrightOpening(_)
                    | Cause::BrightFixtures(_)
                    | Cause::Glint(LightPart::Fixture(_))
                    | Cause::MirrorImage(LightPart::Fixture(_))
                    | Cause::Veiled(LightPart::Fixture(_))
            )
        };
        self.told(&of_lamp, 6)
    }

    /// A warning where lamps of different colour temperature are lit together.
    pub(super) fn mixed_colours(&self) -> Option<String> {
        let mut kelvins: Vec<u32> = self
            .parts
            .schedule
            .iter()
            .filter(|r| r.dimming > 0.0)
            .map(|r| r.cct_k.round() as u32)
            .collect();
        kelvins.sort_unstable();
        kelvins.dedup();
        (kelvins.len() > 1).then(|| {
            let words: Vec<String> = kelvins.iter().map(|k| format!("{k} K")).collect();
            format!(
                "The fixtures have {}: in one view, lamps of different colour disturb; one colour for all is calmer.",
                words.join(", ")
            )
        })
    }

    pub(super) fn aiming(&mut self) -> Drawn {
        let mut sheet =
            outcome::aiming_sheet(self.parts.room, self.parts.schedule, self.parts.lengths);
        // The table is set as text, so that it can be read, searched and copied.
        let titles: Vec<String> = std::mem::take(&mut sheet.header)
            .iter()
            .map(|h| h.replace('\n', " "))
            .collect();
        let columns: Vec<(&str, &str, &str)> = titles
            .iter()
            .zip(&sheet.right)
            .map(|(title, right)| {
                let align = if *right { "right" } else { "left" };
                let width = match title.as_str() {
                    "kind" | "from walls" | "aims at" => "1fr",
                    _ => "auto",
                };
                (title.as_str(), align, width)
            })
            .collect();
        let rows = std::mem::take(&mut sheet.rows);
        let notes = std::mem::take(&mut sheet.notes);
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(table(&columns, rows, "", true));
        if sheet.points.is_empty() {
            blocks.push(text("No fixture aims at the piece."));
        } else {
            let svg = aiming_sheet_svg(&sheet);
            let mut figure = self.figure(
                "aiming",
                svg,
                "The piece from the front: what each fixture aims at; beams are drawn round, though they meet the wall at a slant",
                "The piece from the front with the point that each fixture aims at",
            );
            figure["height_share"] = json!(0.5);
            blocks.push(figure);
        }
        blocks.push(list(&notes));
        Drawn {
            landscape: true,
            blocks,
        }
    }

    pub(super) fn hanging(&mut self) -> Drawn {
        let room = self.parts.room;
        let mut blocks: Vec<Value> = self.place_warning().into_iter().collect();
        blocks.push(self.setting_out());
        let sheet = outcome::piece_sheet(room);
        let svg = piece_sheet_svg(&sheet);
        let landscape = is_wide(&svg);
        blocks.push(self.figure(
            "hanging",
            svg,
            "The whole piece from the front, with the grain arrow of every tile; a tile turned end for end may throw the light the other way",
            "The piece from the front with the number and the grain arrow of every tile",
        ));
        let parts = outcome::piece_sheet_parts(&sheet, MOST_PART_TILES);
        if parts.len() > 1 {
            for (k, part) in parts.iter().enumerate() {
                blocks.push(json!({ "type": "pagebreak" }));
                let name = format!("hanging-{}", k + 1);
                blocks.push(self.figure(
                    &name,
                    piece_sheet_svg(part),
                    "",
                    "A part of the piece from the front with numbers and grain arrows",
                ));
            }
        }
        blocks.push(json!({ "type": "pagebreak" }));
        blocks.push(heading("Every tile in figures"));
        blocks.push(self.tile_table());
        Drawn { blocks, landscape }
    }

    /// Edges of the piece from the wall's ends and the floor.
    pub(super) fn setting_out(&self) -> Value {
        let room = self.parts.room;
        let file = &room.file;
        let place = &file.placement;
        let size = room.size_turned(place.turn_deg);
        let length = |m: f32| self.length(m);
        let mut items = vec![
            format!("Where: {}.", self.place(place)),
            format!(
                "Size as it hangs: {} wide, {} high. Bottom edge {}, middle {}, top edge {} above the floor.",
                length(size.x),
                length(size.y),
                length(place.centre_m - 0.5 * size.y),
                length(place.centre_m),
                length(place.centre_m + 0.5 * size.y)
            ),
        ];
        if let Support::Wall {
            space,
            wall,
            along_m,
        } = &place.on
            && let Some(found) = file.spaces.iter().find(|s| s.name == *space)
        {
            let end = first_end(file, space, *wall);
            let line = crate::room::wall(found, *wall);
            let along = (line.to - line.from).normalize_or_zero();
            let right = glam::Vec3::Y.cross(room.piece.normal);
            // The nearer edge is the left one where the wall runs to the right.
            let runs_right = along.dot(glam::Vec2::new(right.x, -right.z)) > 0.0;
            let (near, far) = if runs_right {
                ("left", "right")
            } else {
                ("right", "left")
            };
            items.push(format!(
                "From the {end} end of the wall, finished face: {near} edge {}, middle {}, {far} edge {} (left and right as seen from the front); the wall is {} long.",
                length(along_m - 0.5 * size.x),
                length(*along_m),
                length(along_m + 0.5 * size.x),
                length(line.from.distance(line.to))
            ));
        }
        items.push(format!(
            "Tiles {} mm thick, joints {} mm. Check the wall for plumb and the floor for level first; what to do where they are not, fixings and adhesive are for those who sign for them.",
            crate::report::number::value(room.tiling.thickness_m * 1000.0),
            crate::report::number::value(room.tiling.joint_m * 1000.0)
        ));
        items.push("Number the backs too: from behind, left and right change places.".into());
        list(&items)
    }

    /// Place and arrow of every tile, three tiles a row.
    pub(super) fn tile_table(&self) -> Value {
        let tiling = &self.parts.room.tiling;
        let (low, _) = tiling.bounds();
        let mm = |m: f32| format!("{:.0}", m * 1000.0);
        let cells: Vec<[String; 4]> = tiling
            .tiles
            .iter()
            .map(|tile| {
                let at = tile.centroid_m - low;
                [
                    tile.id.to_string(),
                    mm(at.x),
                    mm(at.y),
                    format!("{:.0}°", tile.grain_rad.to_degrees()),
                ]
            })
            .collect();
        let rows = cells.len().div_ceil(3);
        let body = (0..rows)
            .map(|row| {
                (0..3)
                    .flat_map(|group| {
                        let cell = cells.get(row + group * rows).cloned();
                        cell.unwrap_or_default()
                    })
                    .collect()
            })
            .collect();
        let one = [
            ("Tile", "right", "1fr"),
            ("right, mm", "right", "1fr"),
            ("up, mm", "right", "1fr"),
            ("arrow", "right", "1fr"),
        ];
        table(
            &[one, one, one].concat(),
            body,
            "Middle of each tile from the left and from the bottom edge of the piece as made, seen from the front; arrow counter-clockwise from pointing right.",
            true,
        )
    }
}
