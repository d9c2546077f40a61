//! Colours and spacing of the window: a calm, dark neutral surround and one accent of warm copper. The only
//! file that names them.

use bevy_egui::egui::{self, Color32};

/// Ground of panels.
pub const GROUND: Color32 = Color32::from_rgb(30, 29, 28);
/// Fields and wells.
pub const WELL: Color32 = Color32::from_rgb(20, 19, 18);
/// Raised parts.
pub const RAISED: Color32 = Color32::from_rgb(48, 46, 44);
/// Text.
pub const INK: Color32 = Color32::from_rgb(222, 217, 209);
/// Softer text.
pub const SOFT: Color32 = Color32::from_rgb(166, 160, 151);
/// The accent.
pub const ACCENT: Color32 = Color32::from_rgb(222, 148, 84);
/// What is wrong.
pub const WRONG: Color32 = Color32::from_rgb(240, 128, 104);

/// Marks over bright pictures: dark around light.
pub const EDGE: Color32 = Color32::from_rgb(16, 15, 14);
/// The sun and its path.
pub const SUN: Color32 = Color32::from_rgb(240, 199, 94);
/// Ground of words over the picture.
pub const VEIL: Color32 = Color32::from_rgba_premultiplied(14, 13, 13, 205);

/// Less (-1, blue) and more (1, copper) than in another plan; apart for colour-blind eyes too, by hue and
/// lightness.
pub fn difference(share: f32) -> Color32 {
    let (none, less, more) = (
        [46.0, 45.0, 44.0],
        [92.0, 148.0, 216.0],
        [238.0, 158.0, 84.0],
    );
    let end = if share < 0.0 { less } else { more };
    let t = share.abs().clamp(0.0, 1.0);
    let mix = |k: usize| (none[k] + (end[k] - none[k]) * t) as u8;
    Color32::from_rgb(mix(0), mix(1), mix(2))
}

/// Lays out all usual letters in all sizes that the window uses, once for each scale: a letter that is first needed
/// later makes the picture of all letters grow, and words are missing for a frame.
pub fn warm_letters(ctx: &egui::Context) {
    const SIZES: [f32; 8] = [9.0, 11.0, 12.0, 12.5, 13.0, 14.0, 15.0, 17.0];
    let scale = ctx.pixels_per_point();
    let id = egui::Id::new("letters at");
    if ctx.data(|d| d.get_temp::<f32>(id)) == Some(scale) {
        return;
    }
    ctx.data_mut(|d| d.insert_temp(id, scale));
    let letters: String = (' '..='~').chain("\u{b2}\u{b1}\u{2212}".chars()).collect();
    ctx.fonts_mut(|fonts| {
        for size in SIZES {
            let font = egui::FontId::proportional(size);
            // Letters are drawn apart for each part of a pixel that they begin at.
            for before in ["", "i", "r", ".", "ii", "rr", "w.", "jr"] {
                fonts.layout_no_wrap(format!("{before}{letters}"), font.clone(), INK);
            }
        }
        fonts.layout_no_wrap("0123456789:".into(), egui::FontId::proportional(24.0), INK);
    });
}

/// Dresses the window.
pub fn apply(ctx: &egui::Context) {
    let mut fonts = egui::FontDefinitions::default();
    let own = include_bytes!("../../assets/fonts/LustrewalkSans-Regular.ttf");
    fonts.font_data.insert(
        "lustrewalk".into(),
        std::sync::Arc::new(egui::FontData::from_static(own)),
    );
    if let Some(list) = fonts.families.get_mut(&egui::FontFamily::Proportional) {
        list.insert(0, "lustrewalk".into());
    }
    ctx.set_fonts(fonts);
    // A second pass of one frame would ask for everything twice.
    ctx.options_mut(|o| {
        o.max_passes = std::num::NonZeroUsize::MIN;
        // Slow frames must not turn a click into a long press.
        o.input_options.max_click_duration = 3.0;
        // Sizes are kept with the settings.
        o.zoom_with_keyboard = false;
    });
    ctx.set_theme(egui::Theme::Dark);
    ctx.all_styles_mut(|s| {
        s.spacing.item_spacing = egui::vec2(6.0, 5.0);
        s.interaction.tooltip_delay = 0.7;
        let v = &mut s.visuals;
        v.panel_fill = GROUND;
        v.window_fill = GROUND;
        v.extreme_bg_color = WELL;
        v.faint_bg_color = RAISED;
        v.override_text_color = Some(INK);
        v.selection.bg_fill = ACCENT.gamma_multiply(0.45);
        v.selection.stroke = egui::Stroke::new(1.0, ACCENT);
        v.widgets.inactive.weak_bg_fill = RAISED;
        v.widgets.inactive.bg_fill = RAISED;
        v.widgets.hovered.bg_stroke = egui::Stroke::new(1.0, ACCENT);
    });
}
