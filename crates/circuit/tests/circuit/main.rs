//! The crate from outside: closed forms, published tables, faults, random networks.

mod choosing;
mod day;
mod faults;
mod ladders;
mod made;
mod operating;
mod random;
mod transient;
