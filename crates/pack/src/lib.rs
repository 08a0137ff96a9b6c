//! Drawings, pages and files: artifacts as bytes with a path.
