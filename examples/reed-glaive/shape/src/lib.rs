//! The outer shape of the reed glaive, as fine as asked.
