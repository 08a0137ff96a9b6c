//! The workbench as a page uses it: the real program, over the network of this machine.

mod building;
mod changing;
mod guarding;
mod served;
mod starting;
