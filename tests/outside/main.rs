//! Checks against numbers that this program did not make: published tables and worked examples, closed
//! forms, independent implementations, and facts of the trade. Each check names its source and why its
//! tolerance is what it is. Where the reference folder lies beside the checkout its full tables run too.

mod boxes;
mod civil_time;
mod colour;
mod drawing;
mod estimates;
mod glare;
mod glazing;
mod invariants;
mod luminaire;
mod luminaire_beam;
mod luminaire_corpus;
mod lustre_room;
mod material_invariants;
mod material_tables;
mod metal;
mod openings;
mod perez;
mod relief;
mod rooms;
mod scenes;
mod sky;
mod sun;
mod table;
mod trade_facts;
mod transport;
mod traps;
mod vision;
mod weather_hours;
mod wood;
