//! Plans of every kind, each judged by rules that are written here and nowhere else.

mod brute;
mod chains;
mod chances;
mod days;
mod judge;
mod made;
mod refused;
