//! Outlines as slips of the hand and of other programs leave them.

use crate::chance::Chance;
use crate::ring::{Ring, between};

/// Damages a polygon in one of eight ways, each as likely as the others.
pub(crate) fn damage(rings: &mut Vec<Ring>, chance: &mut Chance) {
    let Some(shell) = rings.first_mut() else { return };
    let corners = shell.len();
    let at = chance.count(0..=corners - 2);
    let middle = middle(shell);
    match chance.count(0..=7) {
        // A bow-tie: two corners clicked in the wrong order.
        0 => shell.swap(at, at + 1),
        // A corner clicked four times.
        1 => shell.splice(at..at, [shell[at]; 3]).for_each(drop),
        // A spike: out and back on the same line.
        2 => {
            let tip = [chance.between(-8.0, 8.0), chance.between(-8.0, 8.0)];
            let from = shell[at];
            shell.splice(at + 1..=at, [[from[0] + tip[0], from[1] + tip[1]], from]).for_each(drop);
        }
        // The wrong way round.
        3 => rings.iter_mut().for_each(|ring| ring.reverse()),
        // Corners where there is none.
        4 => {
            let next = shell.iter().cycle().skip(1);
            *shell = shell
                .iter()
                .zip(next)
                .flat_map(|(&corner, &next)| [corner, between(corner, next, 0.5)])
                .collect();
        }
        // A sliver without area.
        5 => {
            let (from, to) = (shell[0], shell[corners / 2]);
            *rings = vec![vec![from, to, between(from, to, 0.5)]];
        }
        // Half way round once more, a little farther in: that ground is covered twice.
        6 => {
            let again: Ring =
                shell[..=corners / 2].iter().map(|&corner| between(middle, corner, 0.8)).collect();
            shell.extend(again);
        }
        // A hole half as large as its shell, across it.
        _ => {
            let centre = between(middle, shell[at], 0.8);
            let hole = shell.iter().rev().map(|&corner| {
                let half = between(middle, corner, 0.5);
                [half[0] + centre[0] - middle[0], half[1] + centre[1] - middle[1]]
            });
            let hole = hole.collect();
            rings.push(hole);
        }
    }
}

fn middle(ring: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|axis| ring.iter().map(|corner| corner[axis]).sum::<f64>() / ring.len() as f64)
}
