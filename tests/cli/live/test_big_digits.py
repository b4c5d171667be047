from lapwright.cli.live.big_digits import HEIGHT, big


def test_a_number_is_five_lines_of_one_length() -> None:
    for text in ("-0.42", "+12.3", "1:34.5", "--", ""):
        lines = big(text)
        assert len(lines) == HEIGHT
        assert len({len(line) for line in lines}) == 1


def test_no_two_digits_look_alike_and_the_typographic_minus_is_one() -> None:
    drawn = {tuple(big(c)) for c in "0123456789+-.: "}
    assert len(drawn) == 15
    assert big("\N{MINUS SIGN}1") == big("-1")


def test_the_ink_is_as_asked_for() -> None:
    assert set("".join(big("8", "*"))) == {"*", " "}
