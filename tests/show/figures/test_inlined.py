"""Several figures in one page: no name twice, nothing that holds for the page, nothing that runs."""

import re
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest

from outcomes.show.figures import team_pictures
from outcomes.show.figures.inlined import for_a_page, with_names
from tests.show.figures.reviews import HOSTILE, codes_of, made_review

SVG = "{http://www.w3.org/2000/svg}"
LINK = "{http://www.w3.org/1999/xlink}href"


@pytest.fixture(scope="module")
def pictures():
    return team_pictures(made_review(HOSTILE, 4))


@pytest.fixture(scope="module")
def inlined(pictures):
    return {key: picture.svg(key, inline=True) for key, picture in pictures.items()}


def _ids(svg):
    return [element.get("id") for element in ElementTree.fromstring(svg).iter() if element.get("id")]


def test_no_name_stands_twice_in_a_page(inlined):
    every = [name for svg in inlined.values() for name in _ids(svg)]
    assert len(every) > 500
    assert len(set(every)) == len(every)
    for key, svg in inlined.items():
        assert all(name.startswith(f"{key}-") for name in _ids(svg))


def test_what_is_referred_to_is_there(inlined):
    for svg in inlined.values():
        root, names = ElementTree.fromstring(svg), set(_ids(svg))
        links = [element.get(LINK) for element in root.iter(f"{SVG}use")]
        assert len(links) > 100
        assert {link.removeprefix("#") for link in links} <= names
        assert set(re.findall(r"url\(#([^)]*)\)", svg)) <= names
        assert set(root.get("aria-labelledby").split()) <= names


def test_it_names_and_describes_itself(inlined, pictures):
    for key, svg in inlined.items():
        root = ElementTree.fromstring(svg)
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{key}-title {key}-desc"
        titles = [(child.get("id"), child.text) for child in root.iter(f"{SVG}title")]
        assert titles == [(f"{key}-title", pictures[key].title)]
        assert [child.text for child in root.iter(f"{SVG}desc")] == [pictures[key].alt]


def test_the_page_sets_how_wide_it_is(inlined, pictures):
    for key, svg in inlined.items():
        root = ElementTree.fromstring(svg)
        assert svg.startswith("<svg ")
        assert root.get("width") is None
        assert root.get("height") is None
        wide, high = pictures[key].figure.get_size_inches()
        box = [float(number) for number in root.get("viewBox").split()]
        assert box == pytest.approx([0, 0, 72 * wide, 72 * high], abs=1e-3)


class _Seen(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.comments = set(), []

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        assert not any(name.startswith("on") for name, _ in attributes)

    def handle_comment(self, data):
        self.comments.append(data)


def test_nothing_of_a_code_runs_and_nothing_holds_for_the_page(inlined):
    seen = _Seen()
    seen.feed("".join(inlined.values()))
    assert seen.tags == {"svg", "title", "desc", "g", "path", "defs", "use", "clippath", "rect"}
    assert seen.comments == []
    page = "".join(inlined.values())
    assert "<script" not in page
    assert "matplotlib.org" not in page
    assert "WWWWWWWWWW" not in page


def test_a_file_is_as_it_was(pictures, tmp_path):
    picture = pictures["goal"]
    _, svg = picture.save(tmp_path, "goal")
    text = svg.read_text(encoding="utf-8")
    assert text == picture.svg()
    root = ElementTree.fromstring(text)
    assert text.startswith("<?xml")
    assert root.get("width") == "331.2pt"
    assert root.get("aria-labelledby") == "title desc"
    assert "figure_1" in _ids(text)


def test_the_same_picture_is_the_same_text():
    review = made_review(codes_of(3), 2)
    one, other = (team_pictures(review)["goal"].svg("goal", inline=True) for _ in range(2))
    assert one == other


@pytest.mark.parametrize("key", ["", "1a", "a b", 'a"', "a'><script>", "ä"])
def test_a_key_that_could_be_no_name(pictures, key):
    with pytest.raises(ValueError, match="a letter, then letters, digits"):
        with_names("<svg/>", key)
    if key:
        with pytest.raises(ValueError):
            pictures["goal"].svg(key)


def test_lines_end_as_in_a_file():
    svg = (
        '<?xml?><svg width="1pt" height="2pt" viewBox="0 0 1 2"><defs>\n<style>*{}</style>\n</defs><g/></svg>'
    )
    assert (
        for_a_page(svg) == '<svg stroke-linejoin="round" stroke-linecap="butt" viewBox="0 0 1 2"><g/></svg>'
    )
