//! Why a key may have a sheet of its own: two hundred numbers beside a map leave no room for the
//! map, and a key that breaks off in the middle explains nothing.

use std::ops::Range;

use crate::canvas::Canvas;
use crate::contents::{KEY_TYPE, key_row};
use crate::flow::{self, Row, Sign, Writer};
use crate::layout::{GAP, Outline};
use crate::map::SprayMap;
use crate::page::Page;
use crate::style::Styles;

/// Sizes of its type and numbers of columns to choose from, the easiest to read first.
const WAYS: [(f64, usize); 4] = [(9.0, 2), (8.5, 2), (KEY_TYPE, 2), (KEY_TYPE, 3)];

/// All zones by number, on as few sheets as hold them.
pub(crate) struct KeySheets {
    rows: Vec<Row>,
    columns: Vec<Range<usize>>,
    /// Columns on one sheet.
    abreast: usize,
    lying: bool,
}

impl KeySheets {
    /// `homes` are the sheets on which the zones are seen best; none where there is one map alone.
    pub(crate) fn new(
        map: &SprayMap,
        page: Page,
        lying: bool,
        homes: &[Option<usize>],
    ) -> KeySheets {
        let styles = Styles::of(map);
        let set = |(size, abreast): (f64, usize)| {
            // The title is as high whatever the numbers of the sheets are.
            let body = Outline::new(map, page, lying, (2, 2)).body;
            let width = (body.width() + 2.0 * GAP) / abreast as f64 - 2.0 * GAP;
            let mut out = Writer::new(size, width);
            out.heading("Zones by number");
            let words = "A zone has the same number on every sheet and on the work order.";
            out.item(Sign::Nothing, words, false);
            for zone in 0..map.zones.len() {
                key_row(&mut out, (map, &styles), zone, homes.get(zone).copied().flatten());
            }
            let rows = out.rows;
            // One column for each zone is always enough.
            let heights = vec![body.height(); map.zones.len() + 2];
            let columns = flow::columns(&rows, &heights).unwrap_or_default();
            KeySheets { rows, columns, abreast, lying }
        };
        let all = WAYS.map(set);
        let least = all.iter().map(KeySheets::count).min().unwrap_or_default();
        let mut all = all.into_iter().filter(|it| it.count() == least);
        all.next().unwrap_or_else(|| set(WAYS[0]))
    }

    /// How many sheets it takes.
    pub(crate) fn count(&self) -> usize {
        self.columns.len().div_ceil(self.abreast)
    }

    /// The `index`th of them, from 0, which is the sheet `number` of `count`; and its width and height.
    pub(crate) fn draw(
        &self,
        canvas: &mut Canvas,
        (map, page): (&SprayMap, Page),
        index: usize,
        sheet: (usize, usize),
    ) -> (f64, f64) {
        let Outline { width, height, title, title_at, body, .. } =
            Outline::new(map, page, self.lying, sheet);
        title.draw(canvas, title_at);
        let step = (body.width() + 2.0 * GAP) / self.abreast as f64;
        let columns = self.columns.iter().skip(index * self.abreast).take(self.abreast);
        for (place, column) in columns.enumerate() {
            let x = body.x0 + place as f64 * step;
            flow::draw(canvas, &self.rows[column.clone()], x, body.y0, step - 2.0 * GAP);
        }
        (width, height)
    }
}
