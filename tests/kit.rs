//! Thread and cloth judged by a program that is not brede: networkx.
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

mod asking;

use asking::{Dice, ask};
use brede::planning::double_running::{Hole, walks};
use serde_json::json;

#[test]
#[ignore = "needs Python with networkx (BREDE_PYTHON)"]
fn networkx_finds_euler_circuits_as_long_as_our_double_running() {
    let mut dice = Dice(0x0123_4567_89ab_cdef);
    let mut asked = Vec::new();
    let mut ours: Vec<Vec<usize>> = Vec::new();
    for figure in 0..200 {
        let side = 3 + figure as u64 % 8;
        let stitches: Vec<[Hole; 2]> = (0..1 + dice.roll(90))
            .map(|_| {
                let [x, y] = [dice.roll(side) as i32, dice.roll(side) as i32];
                let [dx, dy] = [[1, 0], [0, 1], [1, 1], [-1, 1], [2, 1]][dice.roll(5)];
                [[x, y], [x + dx, y + dy]]
            })
            .collect();
        let walks = walks(&stitches);
        let mut lengths: Vec<usize> = walks.iter().map(|walk| walk.len() - 1).collect();
        lengths.sort_unstable();
        assert_eq!(lengths.iter().sum::<usize>(), 2 * stitches.len());
        ours.push(lengths);
        asked.push(json!({ "stitches": stitches, "walks": walks }));
    }
    let answers = ask("euler_circuits.py", &json!(asked));
    for (lengths, answer) in ours.iter().zip(answers.as_array().unwrap()) {
        assert_eq!(json!(lengths), answer["lengths"]);
        assert_eq!(json!(lengths.len()), answer["parts"]);
        assert_eq!(answer["walks_are_circuits"], json!(true));
    }
    assert_eq!(answers.as_array().unwrap().len(), 200);
}
