//! Joints that come apart, as a maker writes them, well and badly.

use super::*;
use crate::project::{Hardware, Pole, Side};

#[test]
fn every_key_of_a_joint_is_read() {
    let p = read(&format!(
        "{LEAST}{}",
        r#"[joint.middle]
at = "90 cm"
kind = "bayonet"
reach = "52 mm"
plug = "tip"
wall = "3 mm"
connector = "pair-3"
rod-stands = "60 mm"
turn = "45 deg"
bite = "0.2 mm"
[joint.head]
at = "150 cm"
kind = "screws"
screw = "own"
insert = "insert-m4"
count = 3
[joint.cap]
at = "40 mm"
kind = "magnets"
magnet = "disc-8x3"
pairs = 3
poles = ["+", "+", "-"]
poles-tip = ["-", "-", "-"]
[screw.own]
kind = "pan-m4x10"
length = "12 mm"
[body.lamp]
role = "plain"
peg = "glass-4"
show = "-z"
"#
    ));
    let [middle, head, cap] = p.joints.as_slice() else { panic!("{:?}", p.joints) };
    assert_eq!((middle.at_mm, middle.reach_mm, middle.plug, middle.wall_mm), (900.0, Some(52.0), Some(Side::Tip), 3.0));
    assert_eq!(middle.hardware, Hardware::Bayonet { turn_deg: 45.0, bite_mm: 0.2 });
    assert_eq!((middle.connector.as_ref().unwrap().wires, middle.rod_stands_mm), (3, Some(60.0)));
    let Hardware::Screws { screw, insert, count } = &head.hardware else { panic!("{head:?}") };
    assert_eq!((screw.length_mm, screw.head_mm, insert.thread.as_str(), *count), (12.0, 8.0, "M4", 3));
    assert_eq!((head.reach_mm, head.plug, head.wall_mm), (None, None, 3.0));
    let Hardware::Magnets { magnet, pairs, poles } = &cap.hardware else { panic!("{cap:?}") };
    assert_eq!((magnet.diameter_mm, *pairs), (8.0, 3));
    assert_eq!(poles[0], Some(vec![Pole::Plus, Pole::Plus, Pole::Minus]));
    assert_eq!(poles[1], Some(vec![Pole::Minus; 3]));
    assert_eq!(p.bodies[0].peg.as_ref().unwrap().diameter_mm, 4.0);
    assert_eq!(p.bodies[0].show, Show::Down);
}

#[test]
fn what_is_wrong_with_a_joint_is_said() {
    check_more(
        r#"[joint.base]
at = "70 mm"
kind = "screws"
[joint.middle]
at = "90 cm"
kind = "bayonett"
turn = "45 deg"
[joint.head]
kind = "screws"
screw = "countersunk-m3x8"
insert = "insert-m4"
turn = "45 deg"
[joint.cap]
at = "40 mm"
kind = "magnets"
pairs = 3
poles = ["+", "-"]
[joint.other]
at = "60 mm"
kind = "magnets"
poles = ["n", "s"]
"#,
        expect![[r#"
            prop.toml, line 12, column 8: joint.middle.kind: "bayonett" is not one of the choices
               12 | kind = "bayonett"
                  |        ^^^^^^^^^^
              to mend it: did you mean "bayonet"?

            prop.toml, line 14, column 8: joint.head.at: this key is missing
               14 | [joint.head]
                  |        ^^^^
              to mend it: add at = "300 mm"

            prop.toml, line 14, column 8: joint.head: the screw is M3, the insert M4
               14 | [joint.head]
                  |        ^^^^
              to mend it: name a screw and an insert of the same thread

            prop.toml, line 18, column 1: joint.head.turn: there is no such key
               18 | turn = "45 deg"
                  | ^^^^
              to mend it: what can stand here: "at", "kind", "reach", "plug", "wall", "connector", "rod-stands", "screw", "insert", "count"

            prop.toml, line 20, column 6: joint.cap.at: this is 30 mm from joint base at 70 mm
               20 | at = "40 mm"
                  |      ^^^^^^^
              to mend it: keep 40 mm at least between joints that come apart

            prop.toml, line 23, column 9: joint.cap.poles: there are 2 poles for 3 pairs of magnets
               23 | poles = ["+", "-"]
                  |         ^^^^^^^^^^
              to mend it: write one pole for each pair: "+" for the north pole, "-" for the south pole

            prop.toml, line 25, column 6: joint.other.at: this is 10 mm from joint base at 70 mm
               25 | at = "60 mm"
                  |      ^^^^^^^
              to mend it: keep 40 mm at least between joints that come apart

            prop.toml, line 27, column 10: joint.other.poles[1]: "n" is not one of the choices
               27 | poles = ["n", "s"]
                  |          ^^^
              to mend it: what can stand here: "+", "-"

            prop.toml, line 27, column 15: joint.other.poles[2]: "s" is not one of the choices
               27 | poles = ["n", "s"]
                  |               ^^^
              to mend it: what can stand here: "+", "-"
        "#]],
    );
}
