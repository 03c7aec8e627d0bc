//! From a template to printed sheets: the one [`Drawing`] that screen, SVG, PDF and DXF share.

pub mod drawing;

pub use drawing::Drawing;
