use super::question::stretch_round;

#[test]
fn a_stretch_lies_within_and_is_whole_pitches_long() {
    let pitch = 1000.0 / 60.0;
    for s in [0.0, 240.0, 500.0] {
        let [core, whole] = stretch_round(s, [100.0, 400.0], pitch).unwrap();
        assert!(
            whole[0] >= 100.0 && whole[1] <= 400.0 && whole[0] < core[0] && core[1] < whole[1],
            "{core:?} {whole:?}"
        );
        let pitches = (core[1] - core[0]) / pitch;
        assert!((pitches - pitches.round()).abs() < 1e-9 && pitches >= 2.0, "{pitches}");
    }
    let [core, whole] = stretch_round(250.0, [100.0, 400.0], pitch).unwrap();
    assert!((f64::midpoint(core[0], core[1]) - 250.0).abs() < 1e-9);
    assert!((f64::midpoint(whole[0], whole[1]) - 250.0).abs() < 1e-9);
    // A short window is looked at as a whole; one of two pixels not at all.
    assert_eq!(stretch_round(0.0, [100.0, 170.0], pitch).unwrap()[1], [100.0, 170.0]);
    assert_eq!(stretch_round(0.0, [100.0, 130.0], pitch), None);
}
