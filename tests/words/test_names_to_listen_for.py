"""What to listen for, by the systems that are talked about."""

from narrate.words.hints import names_to_listen_for
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.meanings import OwnWord
from narrate.words.overlay import lay_over


def own() -> Lexicon:
    return load_lexicon()


def test_names_of_the_systems_talked_about_come_first() -> None:
    lexicon = own()
    names = names_to_listen_for(lexicon, ["brakes"])
    systems = [lexicon.system_of[lexicon.often[name].component] for name in names[:20]]
    assert systems == ["brakes"] * 20


def test_each_name_is_there_once_whatever_its_number() -> None:
    names = names_to_listen_for(own(), ["brakes", "wheels"])
    assert len({name.lower().removesuffix("s") for name in names}) == len(names)


def test_without_a_system_the_usual_names_are_listened_for() -> None:
    lexicon = own()
    assert names_to_listen_for(lexicon, []) == lexicon.hints


def test_the_shops_own_words_come_before_all() -> None:
    word = OwnWord(words="whoa plates", means="brake_pad", kind="alias", needs_context=False, note="")
    lexicon = lay_over(own(), (word,)).lexicon
    assert names_to_listen_for(lexicon, ["brakes"])[0] == "whoa plates"
    assert "whoa plates" not in names_to_listen_for(lexicon, ["cooling"])
