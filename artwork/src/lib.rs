//! Artwork.
