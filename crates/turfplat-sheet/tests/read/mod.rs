//! A sheet as others read it.
#![allow(dead_code, unreachable_pub, missing_docs)] // Each user takes what it needs.

use resvg::usvg;

pub fn parsed(svg: &str) -> usvg::Tree {
    usvg::Tree::from_str(svg, &usvg::Options::default()).expect("well-formed SVG")
}

/// All text of a sheet, entities resolved, in the order of the file.
pub fn words(svg: &str) -> String {
    let document = usvg::roxmltree::Document::parse(svg).expect("well-formed XML");
    let texts = document
        .descendants()
        .filter(|node| node.has_tag_name("text") && !node.has_attribute("aria-hidden"));
    texts.filter_map(|node| node.text()).collect::<Vec<_>>().join(" ")
}
