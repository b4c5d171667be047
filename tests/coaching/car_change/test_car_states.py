"""Which changes were on the car, by the notes."""

from lapwright.coaching.car_change.car_states import car_states


def test_a_change_stays_until_it_is_taken_off() -> None:
    states = car_states([[], ["Softer bar"], [], ["back:  softer BAR"], []])
    assert states.entries == ("Softer bar",)
    assert states.on_car[:, 0].tolist() == [False, True, True, False, False]


def test_back_alone_takes_off_all_that_was_changed_last() -> None:
    states = car_states([["stiffer springs"], ["bar", "pressures"], ["back"]])
    assert states.on_car.tolist() == [[1, 0, 0], [1, 1, 1], [1, 0, 0]]


def test_the_same_entry_again_is_no_new_change_while_it_is_on_the_car() -> None:
    states = car_states([["bar"], ["bar"], ["back"], ["bar"]])
    assert states.entries == ("bar",)
    assert states.on_car[:, 0].tolist() == [True, True, False, True]


def test_a_change_and_going_back_in_one_session() -> None:
    states = car_states([["bar"], ["back: bar", "springs"]])
    assert states.on_car.tolist() == [[True, False], [False, True]]


def test_what_is_not_on_the_car_cannot_be_taken_off() -> None:
    states = car_states([["back"], ["bar"], ["back: wing"]])
    assert states.unclear == ((0, "back"), (2, "back: wing"))
    assert states.on_car[:, 0].tolist() == [False, True, True]


def test_words_that_only_begin_alike_are_a_change() -> None:
    assert car_states([["back axle lower"]]).entries == ("back axle lower",)
    assert car_states([[]]).on_car.shape == (1, 0)
