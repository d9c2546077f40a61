//! Which instants and skies a study covers.

use jiff::{ZonedDateTime, civil};

use crate::{
    room::BuiltRoom,
    sky::{SKY_NAMES, SkyModel},
    sun::{Atmosphere, SunPosition, TimeError, sun_position},
};

/// What to cover.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyRequest {
    /// Civil days of the site.
    pub days: Vec<civil::Date>,
    /// First clock time of each day [min after midnight].
    pub from_min: u32,
    /// Last clock time of each day [min after midnight].
    pub to_min: u32,
    /// Step [min].
    pub step_min: u32,
    /// Names of skies, of [`SKY_NAMES`].
    pub skies: Vec<String>,
}

/// Why the instants cannot be laid out.
#[derive(Debug, thiserror::Error)]
pub enum TimeChoiceError {
    /// A day is no date.
    #[error("{text:?} is no date")]
    Date {
        /// As written.
        text: String,
    },
    /// A clock time is none.
    #[error("{text:?} is no clock time")]
    Clock {
        /// As written.
        text: String,
    },
    /// The span is empty.
    #[error("the hours from {from} to {to} are empty")]
    Empty {
        /// Begin, "HH:MM".
        from: String,
        /// End, "HH:MM".
        to: String,
    },
    /// A sky is unknown.
    #[error("no sky is named {name:?}; known: clear, overcast, intermediate, hazy")]
    Sky {
        /// As written.
        name: String,
    },
    /// The zone or an instant is refused.
    #[error(transparent)]
    Time(#[from] TimeError),
}

/// One instant under one sky.
#[derive(Clone, Debug)]
pub struct Instant {
    /// Civil time with its zone.
    pub civil: ZonedDateTime,
    /// Minutes of the clock after midnight.
    pub clock_min: u32,
    /// Apparent solar time [h].
    pub solar_time_h: f64,
    /// Where the sun is.
    pub sun: SunPosition,
}

impl Instant {
    /// The instant of a civil time at a room's site.
    pub fn at(civil: ZonedDateTime, room: &BuiltRoom) -> Self {
        let sun = sun_position(
            civil.timestamp(),
            &room.site,
            Atmosphere::at_elevation(room.site.elevation_m),
        );
        Self {
            clock_min: civil.hour() as u32 * 60 + civil.minute() as u32,
            solar_time_h: crate::sun::solar_time_h(civil.timestamp(), &room.site),
            civil,
            sun,
        }
    }
}

fn clock(text: &str) -> Result<u32, TimeChoiceError> {
    crate::room::clock_min(text).ok_or_else(|| TimeChoiceError::Clock { text: text.into() })
}

impl StudyRequest {
    /// The room's own choice, with what the caller overrides.
    ///
    /// # Errors
    /// A text that is no date, clock time or sky.
    pub fn for_room(
        room: &BuiltRoom,
        days: &[String],
        from: Option<&str>,
        to: Option<&str>,
        step_min: Option<u32>,
        skies: &[String],
    ) -> Result<Self, TimeChoiceError> {
        let own = &room.file.study;
        let days = if days.is_empty() { &own.days } else { days };
        let skies = if skies.is_empty() { &own.skies } else { skies };
        let mut request = Self {
            days: days
                .iter()
                .map(|d| {
                    d.parse()
                        .map_err(|_| TimeChoiceError::Date { text: d.clone() })
                })
                .collect::<Result<_, _>>()?,
            from_min: clock(from.unwrap_or(&own.from))?,
            to_min: clock(to.unwrap_or(&own.to))?,
            step_min: step_min.unwrap_or(own.step_min).max(1),
            skies: skies.iter().map(|s| s.to_lowercase()).collect(),
        };
        let mut seen = std::collections::BTreeSet::new();
        request.skies.retain(|s| seen.insert(s.clone()));
        let mut seen = std::collections::BTreeSet::new();
        request.days.retain(|d| seen.insert(*d));
        if let Some(name) = request
            .skies
            .iter()
            .find(|s| !SKY_NAMES.contains(&s.as_str()))
        {
            return Err(TimeChoiceError::Sky { name: name.clone() });
        }
        if request.from_min > request.to_min {
            let show = |m: u32| format!("{:02}:{:02}", m / 60, m % 60);
            return Err(TimeChoiceError::Empty {
                from: show(request.from_min),
                to: show(request.to_min),
            });
        }
        Ok(request)
    }

    /// The instants of one day. Clock times that a change of the clock skips are left out; of those it
    /// repeats, the first is taken; both are noted.
    ///
    /// # Errors
    /// An unknown zone.
    pub fn instants(
        &self,
        day: civil::Date,
        room: &BuiltRoom,
        notes: &mut Vec<String>,
    ) -> Result<Vec<Instant>, TimeChoiceError> {
        let zone = &room.file.site.zone;
        let mut instants = Vec::new();
        let mut clock_min = self.from_min;
        while clock_min <= self.to_min.min(24 * 60 - 1) {
            // Both parts are in range: the clock is below 24 h.
            let time = civil::Time::constant((clock_min / 60) as i8, (clock_min % 60) as i8, 0, 0);
            let civil = match crate::sun::resolve(day.to_datetime(time), zone) {
                Ok(civil) => Some(civil),
                Err(TimeError::Skipped { .. }) => {
                    notes.push(format!(
                        "{day} {:02}:{:02} does not exist in {zone}: the clock is set forward",
                        clock_min / 60,
                        clock_min % 60
                    ));
                    None
                }
                Err(TimeError::Repeated { first, .. }) => {
                    notes.push(format!(
                        "{day} {:02}:{:02} exists twice in {zone}: the first is taken",
                        clock_min / 60,
                        clock_min % 60
                    ));
                    Some(first.0)
                }
                Err(other) => return Err(other.into()),
            };
            if let Some(civil) = civil {
                instants.push(Instant::at(civil, room));
            }
            clock_min += self.step_min;
        }
        Ok(instants)
    }
}

/// The sky model of a name of [`SKY_NAMES`], with the site's turbidity; clear for a name that is none.
pub fn sky_model(name: &str, room: &BuiltRoom) -> SkyModel {
    let turbidity = room.file.site.turbidity;
    SkyModel::named(name, turbidity).unwrap_or(SkyModel::ClearTurbid { turbidity })
}
