"""HTML tables: names are plain text and escaped, contents are HTML and stay."""

from __future__ import annotations

from viewer.shown.html import cell, heading, named_values, row, side_by_side, table


def test_a_table_has_only_the_attributes_that_were_given() -> None:
    assert table([row(heading("a", width="8%"), cell("<b>b</b>"))]) == (
        '<table cellspacing="0"><tr><th width="8%" align="left" valign="top">a</th>'
        '<td valign="top"><b>b</b></td></tr></table>'
    )
    assert table([], width="100%", padding=0).startswith(
        '<table width="100%" cellspacing="0" cellpadding="0">'
    )
    assert 'style="color:&quot;red&quot;"' in cell(style='color:"red"')


def test_names_are_escaped_and_values_are_html() -> None:
    made = named_values([("a < b", "<a href='line:3'>3</a>")], "#777777")
    assert "color:#777777" in made
    assert ">a &lt; b</td>" in made
    assert "<a href='line:3'>3</a></td>" in made


def test_two_parts_side_by_side() -> None:
    made = side_by_side("<p>l</p>", "<p>r</p>", left_width="60%", gap_px=18)
    assert made.startswith('<table width="100%"')
    assert made.index("<p>l</p>") < made.index("<p>r</p>")
    assert made.count("padding-right:18px") == 1
