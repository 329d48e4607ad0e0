"""What is said where there is no answer: questions like it, each of which has one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import islice, product

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.lookup.bag import Bag, Thing
from millprep.lookup.vocabulary import ASK, FORMS, HOLDING, PHRASES
from millprep.reference.materials import materials
from millprep.reference.threads import threads
from millprep.sizes import either, same_size

_MOST_TRIED, _MOST_SHOWN = 40, 3
_NEAR, _NEAR_SHORT = 0.75, 0.65  # how alike two words are, of 1


def misspelt(words: str, left: list[Thing], shop: Bag) -> WordError | None:
    """The refusal of an answer that does without a word, where that word was only misspelt."""
    unknown = [thing.words for thing in left if "unknown" in thing.kinds]
    if not unknown or not (likely := _answerable(_mended(words.split()), shop)):
        return None
    odd = [shown(each) for each in unknown if each.casefold() not in _words()] or [shown(words)]
    verb = "is no word" if len(odd) == 1 else "are no words"
    return WordError(f"{', '.join(odd)} {verb} of the bench", f"nearest: {either(likely)}; {ASK}")


def refused(words: str, shop: Bag) -> WordError:
    """The refusal of a question; what is named as nearest has an answer that uses all of it."""
    likely = _answerable(_nearest(words.split()), shop)
    nearest = f"nearest: {either(likely)}; " if likely else ""
    return WordError(f"{shown(words)} is in no table", nearest + ASK)


def _answerable(questions: Iterable[str], shop: Bag) -> list[str]:
    """Those of the questions that have an answer, a few of them, each once."""
    from millprep.lookup import answer_to

    found = []
    for question in islice(dict.fromkeys(questions), _MOST_TRIED):
        try:
            answer = answer_to(question, shop)
        except WordError:
            continue
        if answer is not None and not answer[1]:
            found.append(question)
            if len(found) == _MOST_SHOWN:
                break
    return found


def _mended(tokens: list[str]) -> Iterator[str]:
    """The question with each word that is none in place of one that is much like it."""
    is_odd = [_is_word(each) and each.casefold() not in _words() for each in tokens]
    close = [
        (odd and _alike(each, _offered())) or [each]
        for each, odd in zip(tokens, is_odd, strict=True)
    ]
    for mended in product(*close):
        if list(mended) != tokens:
            yield " ".join(mended)


def _nearest(tokens: list[str]) -> Iterator[str]:
    """Misspelt words mended, then sizes that there are, then without the words that are none."""
    yield from islice(_mended(tokens), _MOST_TRIED // 2)
    for place, token in enumerate(tokens):
        if any(letter.isdigit() for letter in token):
            before, after = tokens[:place], tokens[place + 1 :]
            for size in dict.fromkeys([*_alike(token, _sizes()), *same_size(token.casefold())[:4]]):
                yield " ".join([*before, _sizes().get(size, size), *after])
    known = [each for each in tokens if each.casefold() in _words() or not _is_word(each)]
    yield " ".join(known)
    for token in tokens:
        for size in [*_alike(token, _sizes()), *same_size(token.casefold())[:4]]:
            yield _sizes().get(size, size)


def _is_word(token: str) -> bool:
    return sum(letter.isalpha() for letter in token) >= 3


def _alike(word: str, known: Iterable[str]) -> list[str]:
    from difflib import get_close_matches

    cutoff = _NEAR if len(word) > 3 else _NEAR_SHORT
    return get_close_matches(word.casefold(), sorted(known), n=3, cutoff=cutoff)


@cache
def _offered() -> frozenset[str]:
    """Every word that names something."""
    phrases = [*PHRASES, *(alias for each in materials() for alias in each.aliases)]
    words = {word.strip(",") for phrase in phrases for word in phrase.split()}
    return frozenset(word for word in words | FORMS if len(word) > 2)


@cache
def _words() -> frozenset[str]:
    """Every word that questions are made of."""
    return _offered() | {word for word in HOLDING if len(word) > 2}


@cache
def _sizes() -> dict[str, str]:
    """Threads and alloys that the tables have, by their small letters."""
    names = [thread.designation for thread in threads()]
    names += [
        alias for each in materials() for alias in each.aliases if any(map(str.isdigit, alias))
    ]
    return {name.casefold(): name for name in names}
