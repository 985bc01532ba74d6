//! When to treat.
//!
//! A label's least interval says when a treatment may come again, a model of degree-days when its effect
//! has worn off, a forecast in which hour it can be sprayed. This crate answers the three from dates,
//! temperatures and winds alone; what they mean for a zone and its dose is joined in `turfplat`.
