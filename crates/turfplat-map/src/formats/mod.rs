//! Map files in formats other than GeoJSON: each is told once as GeoJSON features, see [`told`].

pub(crate) mod told;
