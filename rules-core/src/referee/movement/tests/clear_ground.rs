//! Ground that must be clear: the table, impassable ground, friends.

use super::*;

#[test]
fn the_table_ends() {
    let units = vec![
        pair("r1", "foot", (600.0, 1150.0, 0.0)),
        pair("b1", "foot", (100.0, 100.0, 0.0)),
    ];
    let table = game(rules(), units);
    check(&table, &[forward(50.0)], LEGAL, 50.0, (600.0, 1200.0, 0.0));
    check(
        &table,
        &[forward(50.4)],
        (Ruling::Marginal, "off-table"),
        50.4,
        (600.0, 1200.4, 0.0),
    );
    let verdict = check(
        &table,
        &[forward(60.0)],
        (Ruling::Refused, "off-table"),
        60.0,
        (600.0, 1210.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 1200.0);
    check(
        &table,
        &[forward_up_to(60.0)],
        LEGAL,
        50.0,
        (600.0, 1200.0, 0.0),
    );
}

#[test]
fn impassable_ground_stops_the_whole_footprint() {
    let mut ground = bare_ground();
    // only under the right end of the front
    ground.patches.push(patch(
        "crag",
        1.0,
        true,
        &[
            (630.0, 640.0),
            (700.0, 640.0),
            (700.0, 700.0),
            (630.0, 700.0),
        ],
    ));
    let table = on(rules(), ground, vec![]);
    check(&table, &[forward(40.0)], LEGAL, 40.0, (600.0, 640.0, 0.0));
    let verdict = check(
        &table,
        &[forward(50.0)],
        (Ruling::Refused, "impassable"),
        50.0,
        (600.0, 650.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 640.0);
    check(
        &table,
        &[forward_up_to(50.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
    // a wheel left carries the right corner up and then away to the left of the crag: 630 − 560 = 70 < 80
    check(
        &table,
        &[wheel(Hand::Left, 60.0)],
        (Ruling::Refused, "impassable"),
        83.776,
        (580.0, 634.641, 300.0),
    );
}

#[test]
fn friends_may_be_passed_but_not_ended_on() {
    let friend = || vec![pair("r2", "foot", (600.0, 660.0, 0.0))];
    let table = with(friend());
    check(&table, &[forward(90.0)], LEGAL, 90.0, (600.0, 690.0, 0.0));
    let verdict = check(
        &table,
        &[forward(50.0)],
        (Ruling::Refused, "ends-on-friend"),
        50.0,
        (600.0, 650.0, 0.0),
    );
    assert_eq!(verdict.furthest.expect("some").y_mm, 640.0);
    let mut ruleset = rules();
    ruleset.movement.pass_friends = false;
    let table = on(ruleset, bare_ground(), friend());
    check(
        &table,
        &[forward(90.0)],
        (Ruling::Refused, "ends-on-friend"),
        90.0,
        (600.0, 690.0, 0.0),
    );
    check(
        &table,
        &[forward_up_to(90.0)],
        LEGAL,
        40.0,
        (600.0, 640.0, 0.0),
    );
}
