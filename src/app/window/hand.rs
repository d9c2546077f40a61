//! The pointer over the picture: dragging grips, choosing by a click, aiming, pinning, and reading what it rests
//! on.

use std::hash::{Hash, Hasher};

use bevy::{
    ecs::system::SystemParam, input::mouse::AccumulatedMouseMotion, prelude::*,
    window::RequestRedraw,
};

use super::{Gestures, PictureArea, input::is_down};
use crate::app::{
    command::AppCommand,
    document::{EditKey, OpenRoom},
    edits::name_of,
    grips::{Grip, Pull, grips},
    pick::{Found, FoundOn, find, thing_of},
    standing::Standing,
    state::{Chosen, Desk, Pins, Showing, Thing, ViewKind},
    view::{Sight, Views},
};

/// How near the pointer must be to a grip [points].
const REACH: f32 = 12.0;
/// How far a press may move and still be a click [points].
const CLICK: f32 = 4.0;
/// How long the pointer rests before a spot is read [s].
const REST_S: f64 = 0.25;

/// What the hand does.
#[derive(Resource, Default)]
pub(super) struct Hand {
    /// Grip under the pointer, or in the hand.
    pub hot: Option<Grip>,
    /// Grip that is dragged.
    pub dragging: Option<Grip>,
    /// From the grip to where it was taken hold of.
    held_off: Vec2,
    /// Where the button went down in the picture.
    pressed_at: Option<Vec2>,
    right_at: Option<Vec2>,
    rest: (Vec2, f64),
    read_at: Option<Vec2>,
}

/// What the hand works with.
#[derive(SystemParam)]
pub(super) struct Table<'w, 's> {
    buttons: Res<'w, ButtonInput<MouseButton>>,
    keys: Res<'w, ButtonInput<KeyCode>>,
    motion: Res<'w, AccumulatedMouseMotion>,
    window: Query<'w, 's, &'static Window>,
    area: Res<'w, PictureArea>,
    views: Res<'w, Views>,
    open: Res<'w, OpenRoom>,
    desk: Res<'w, Desk>,
    chosen: Res<'w, Chosen>,
    showing: Res<'w, Showing>,
    time: Res<'w, Time<Real>>,
}

impl Table<'_, '_> {
    /// The pointer in the window's points, where it is over the edited plan's picture.
    fn pointer(&self) -> Option<Vec2> {
        let at = self.window.iter().next()?.physical_cursor_position()?;
        Some(at / self.area.pixels_per_point)
    }

    fn free(&self) -> bool {
        self.keys.any_pressed([KeyCode::AltLeft, KeyCode::AltRight])
    }

    fn is_plan(&self) -> bool {
        self.showing.view == ViewKind::Plan
    }

    fn sight(&self, at: Vec2) -> Option<Sight> {
        let view = self.views.0.first()?;
        Some(view.sight(at))
    }

    fn found(&self, at: Vec2, panes: bool) -> Option<Found> {
        let live = self.desk.live();
        let (now, (_, built)) = (live.now.as_ref()?, live.built.as_ref()?);
        find(&now.light.tracer(), built, self.sight(at)?, panes)
    }

    /// The grip that is nearest to the pointer, within reach; in the picture the piece as a whole is one.
    fn grip_at(&self, at: Vec2) -> Option<Grip> {
        let (_, built) = self.desk.live().built.as_ref()?;
        let view = self.views.0.first()?;
        let list = grips(
            self.open.file(),
            built,
            self.chosen.thing.as_ref(),
            self.is_plan(),
        );
        list.into_iter()
            .filter_map(|(grip, place)| Some((grip, view.place(place)?.distance(at))))
            .filter(|(_, away)| *away < REACH)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(grip, _)| grip)
    }

    /// Where a grip is drawn.
    fn place_of(&self, grip: Grip) -> Option<Vec2> {
        let (_, built) = self.desk.live().built.as_ref()?;
        let chosen = grip.thing();
        let list = grips(self.open.file(), built, Some(&chosen), self.is_plan());
        let (_, place) = list.into_iter().find(|(g, _)| *g == grip)?;
        self.views.0.first()?.place(place)
    }

    fn pull(&self, grip: Grip, at: Vec2, gesture: u64) -> Option<AppCommand> {
        let live = self.desk.live();
        let (_, built) = live.built.as_ref()?;
        let pull = Pull {
            room: self.open.file(),
            built,
            tracer: live.now.as_ref().map(|n| n.light.tracer()),
            sight: self.sight(at)?,
            from_above: self.is_plan(),
            free: self.free(),
        };
        let room = pull.drag(grip)?;
        let mut hasher = std::hash::DefaultHasher::new();
        grip.hash(&mut hasher);
        Some(AppCommand::Edit {
            from: self.open.revision(),
            room: Box::new(room),
            what: grip.what().into(),
            key: Some(EditKey {
                field: hasher.finish(),
                gesture,
            }),
        })
    }

    /// A click in the picture.
    fn click(&self, at: Vec2, gesture: u64) -> Vec<AppCommand> {
        if let Some(fixture) = self.showing.aiming {
            let aimed = self.pull(Grip::Aim(fixture), at, gesture);
            return aimed
                .into_iter()
                .chain([AppCommand::AimByClick(None)])
                .collect();
        }
        let (Some(found), Some((_, built))) = (self.found(at, true), &self.desk.live().built)
        else {
            return Vec::new();
        };
        if let FoundOn::Tile(i) = found.on {
            let add = is_down(&self.keys, [KeyCode::ShiftLeft, KeyCode::ShiftRight]);
            return built
                .tiling
                .tiles
                .get(i)
                .map(|t| AppCommand::ChooseTile { tile: t.id, add })
                .into_iter()
                .collect();
        }
        vec![AppCommand::Choose(thing_of(
            self.open.file(),
            built,
            &found,
        ))]
    }
}

/// Left button: grips, clicks, turning the head. Right button: shifting and pinning.
pub(super) fn use_hand(
    table: Table,
    mut hand: ResMut<Hand>,
    mut gestures: ResMut<Gestures>,
    mut standing: ResMut<Standing>,
    mut commands: MessageWriter<AppCommand>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if table
        .buttons
        .any_just_pressed([MouseButton::Left, MouseButton::Right])
    {
        gestures.count += 1;
    }
    // A button that is let go of outside the window is not told.
    if !table.buttons.pressed(MouseButton::Left) && !table.buttons.just_released(MouseButton::Left)
    {
        hand.pressed_at = None;
        hand.dragging = None;
        if standing.kept_gaze.is_some() {
            standing.kept_gaze = None;
        }
    }
    if !table.buttons.pressed(MouseButton::Right)
        && !table.buttons.just_released(MouseButton::Right)
    {
        hand.right_at = None;
    }
    let is_there =
        |grip: &Grip| *grip == Grip::Piece || name_of(table.open.file(), &grip.thing()).is_some();
    hand.dragging = hand.dragging.filter(is_there);
    let Some(at) = table.pointer() else {
        hand.hot = None;
        return;
    };
    let in_picture = table.area.hovered && table.views.0.first().is_some_and(|v| v.contains(at));
    if hand.dragging.is_none() {
        hand.hot = if in_picture { table.grip_at(at) } else { None };
    }
    if table.buttons.just_pressed(MouseButton::Left) && in_picture {
        hand.pressed_at = Some(at);
        let on_piece = || {
            let piece = matches!(table.chosen.thing, None | Some(Thing::Piece));
            let found = table.found(at, false);
            (piece
                && table.showing.view != ViewKind::Plan
                && found.is_some_and(|f| matches!(f.on, FoundOn::Tile(_))))
            .then_some(Grip::Piece)
        };
        hand.dragging = hand
            .hot
            .or_else(on_piece)
            .filter(|_| table.showing.aiming.is_none());
    }
    if table.buttons.just_pressed(MouseButton::Left) {
        let place = hand.dragging.and_then(|grip| table.place_of(grip));
        hand.held_off = place.map_or(Vec2::ZERO, |place| at - place);
    }
    let moved = hand.pressed_at.is_some_and(|p| p.distance(at) > CLICK);
    if table.buttons.pressed(MouseButton::Left) && moved {
        if let Some(grip) = hand.dragging {
            hand.hot = Some(grip);
            let own = table.chosen.thing.clone().unwrap_or(Thing::Piece);
            if grip.thing() != own {
                commands.write(AppCommand::Choose(Some(grip.thing())));
            }
            if standing.kept_gaze.is_none()
                && let Some((_, built)) = &table.desk.live().built
            {
                standing.kept_gaze = Some(standing.visitor(built).gaze_dir);
            }
            commands.write_batch(table.pull(grip, at - hand.held_off, gestures.count));
            redraw.write(RequestRedraw);
        } else if table.motion.delta != Vec2::ZERO {
            turn(&table, &mut standing);
        }
    }
    if table.buttons.just_released(MouseButton::Left) {
        let pressed = hand.pressed_at.take();
        let dragged = hand.dragging.take();
        if pressed.is_some_and(|p| p.distance(at) <= CLICK) {
            match dragged {
                Some(grip) if grip != Grip::Piece => {
                    commands.write(AppCommand::Choose(Some(grip.thing())));
                }
                _ => {
                    commands.write_batch(table.click(at, gestures.count));
                }
            }
        }
    }
    if table.buttons.just_pressed(MouseButton::Right) && in_picture {
        hand.right_at = Some(at);
    }
    if table.buttons.pressed(MouseButton::Right) && hand.right_at.is_some() {
        shift(&table, &mut standing);
    }
    if table.buttons.just_released(MouseButton::Right)
        && hand
            .right_at
            .take()
            .is_some_and(|p| p.distance(at) <= CLICK)
        && let Some(found) = table.found(at, false)
    {
        commands.write(AppCommand::Pin(Box::new(found)));
    }
}

fn turn(table: &Table, standing: &mut Standing) {
    let d = table.motion.delta * 0.005;
    match table.showing.view {
        ViewKind::Visitor => standing.turn_head(-d.x, d.y),
        ViewKind::Around => standing.turn_around(d.x, d.y),
        ViewKind::Plan => {
            let scale = standing.plan.height_m / table.area.size.y.max(1) as f32;
            standing.plan.middle.0 -= table.motion.delta.x * scale;
            standing.plan.middle.1 -= table.motion.delta.y * scale;
        }
    }
}

fn shift(table: &Table, standing: &mut Standing) {
    let d = table.motion.delta * 0.0015;
    if d == Vec2::ZERO || table.showing.view != ViewKind::Around {
        return;
    }
    let Some((_, built)) = &table.desk.live().built else {
        return;
    };
    let floor_m = crate::app::standing::bounds(built).0.y;
    standing.shift_around(-d.x, d.y, floor_m);
}

/// A spot is read where the pointer rests.
pub(super) fn read_spot(
    table: Table,
    mut hand: ResMut<Hand>,
    mut pins: ResMut<Pins>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let at = table
        .pointer()
        .filter(|at| table.area.hovered && table.views.0.first().is_some_and(|v| v.contains(*at)));
    let Some(at) = at else {
        if pins.pointer.is_some() {
            pins.pointer = None;
            hand.read_at = None;
        }
        return;
    };
    let now_s = table.time.elapsed_secs_f64();
    if hand.rest.0 != at {
        hand.rest = (at, now_s);
        redraw.write(RequestRedraw);
        return;
    }
    let busy = table
        .buttons
        .any_pressed([MouseButton::Left, MouseButton::Right]);
    if now_s - hand.rest.1 < REST_S || busy || hand.read_at == Some(at) {
        return;
    }
    hand.read_at = Some(at);
    pins.pointer = table
        .found(at, false)
        .filter(|f| !matches!(f.on, FoundOn::Pane(_)));
}

/// The spot under the pointer is another one when the eye or the room moves.
pub(super) fn forget_spot(
    standing: Res<Standing>,
    desk: Res<Desk>,
    showing: Res<Showing>,
    mut hand: ResMut<Hand>,
    mut last: Local<u64>,
) {
    let revision = desk.live().revision;
    if standing.is_changed() || showing.is_changed() || *last != revision {
        *last = revision;
        hand.read_at = None;
    }
}
