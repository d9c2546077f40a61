//! Size of the page in metres and the map from the reader's pixels to the piece.

use glam::DVec2;
use resvg::usvg::{self, roxmltree::Document};

use super::DrawingOptions;
use super::error::{DrawingError, DrawingWarning};

/// Metres in one CSS pixel: 1/96 inch (CSS Values and Units Level 4, section 6.2).
const METRES_PER_PIXEL: f64 = 0.0254 / 96.0;

/// The page of a drawing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Page {
    /// Width and height [m].
    pub size_m: DVec2,
    /// Metres in one pixel of the reader's tree [m].
    pub metres_per_px: f64,
}

impl Page {
    /// A point of the tree [px, y down] on the piece [m, y up, origin at the page's centre].
    pub(crate) fn point_m(&self, x_px: f64, y_px: f64) -> DVec2 {
        let p = DVec2::new(x_px, y_px) * self.metres_per_px;
        DVec2::new(p.x - self.size_m.x / 2.0, self.size_m.y / 2.0 - p.y)
    }
}

/// What the root element says about one side.
enum Side {
    Absent,
    Percent,
    Pixels(f64),
    /// A length in a physical unit, in pixels.
    Physical(f64),
}

/// The page, checked against what the root element says.
pub(super) fn page_of(
    document: &Document<'_>,
    tree_px: usvg::Size,
    options: &DrawingOptions,
    name: &str,
    warnings: &mut Vec<DrawingWarning>,
) -> Result<Page, DrawingError> {
    let root = document.root_element();
    let side = |attribute| side_of(root.attribute(attribute), attribute, name);
    let (width, height) = (side("width")?, side("height")?);
    let view_box = root.attribute("viewBox").map(numbers).unwrap_or_default();
    let has_view_box = view_box.len() == 4;
    let px = DVec2::new(f64::from(tree_px.width()), f64::from(tree_px.height()));
    let mut metres_per_px = METRES_PER_PIXEL;
    if let Some(width_m) = options.width_m {
        metres_per_px = f64::from(width_m) / px.x;
    } else {
        match (&width, &height) {
            (Side::Physical(_), _) | (_, Side::Physical(_)) => {}
            (Side::Pixels(_), _) | (_, Side::Pixels(_)) => {
                warnings.push(DrawingWarning::SizeInPixels {
                    width_px: tree_px.width(),
                    height_px: tree_px.height(),
                });
            }
            _ if has_view_box => {
                return Err(DrawingError::NoPhysicalSize {
                    name: name.to_owned(),
                    units: (tree_px.width(), tree_px.height()),
                });
            }
            _ => warnings.push(DrawingWarning::NoSizeNoViewBox),
        }
    }
    if let ([_, _, w, h], Some(_), Some(_)) =
        (view_box.as_slice(), width.length_px(), height.length_px())
    {
        let ratio = (px.x / px.y) / (w / h);
        if (ratio - 1.0).abs() > 1e-3 {
            warnings.push(DrawingWarning::AspectMismatch {
                percent: (ratio - 1.0) * 100.0,
            });
        }
    }
    let size_m = px * metres_per_px;
    if !(0.001..=100.0).contains(&size_m.x) || !(0.001..=100.0).contains(&size_m.y) {
        return Err(DrawingError::PageSize {
            name: name.to_owned(),
            width_m: size_m.x,
            height_m: size_m.y,
        });
    }
    Ok(Page {
        size_m,
        metres_per_px,
    })
}

impl Side {
    fn length_px(&self) -> Option<f64> {
        match self {
            Self::Absent | Self::Percent => None,
            Self::Pixels(px) | Self::Physical(px) => Some(*px),
        }
    }
}

fn side_of(value: Option<&str>, attribute: &'static str, name: &str) -> Result<Side, DrawingError> {
    let Some(text) = value.map(str::trim).filter(|t| *t != "auto") else {
        return Ok(Side::Absent);
    };
    let bad = || DrawingError::BadLength {
        name: name.to_owned(),
        attribute,
        value: text.chars().take(40).collect(),
    };
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
    let mut split = text.find(|c| !is_number(c)).unwrap_or(text.len());
    // An exponent belongs to the number, the e of em and ex does not.
    if let Some(rest) = text.get(split..).filter(|r| r.starts_with(['e', 'E'])) {
        let digits = rest.chars().skip(1).take_while(|&c| is_number(c)).count();
        if digits > 0 {
            split += 1 + digits;
        }
    }
    let (number, unit) = text.split_at_checked(split).ok_or_else(bad)?;
    let number: f64 = number.parse().map_err(|_| bad())?;
    let per_inch = 96.0;
    // Units of CSS Values and Units Level 4, section 6.2, in pixels.
    let physical = |unit_px: f64| Ok(Side::Physical(number * unit_px));
    match unit {
        "%" => Ok(Side::Percent),
        "" | "px" => Ok(Side::Pixels(number)),
        "mm" => physical(per_inch / 25.4),
        "cm" => physical(per_inch / 2.54),
        "in" => physical(per_inch),
        "pt" => physical(per_inch / 72.0),
        "pc" => physical(per_inch / 6.0),
        _ => Err(bad()),
    }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ',', '\t', '\n', '\r'])
        .filter(|t| !t.is_empty())
        .map_while(|t| t.parse().ok())
        .collect()
}
