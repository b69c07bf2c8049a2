#!/usr/bin/env python3
"""Whole numbers in words, from the PyPI package num2words 0.5, to compare ours with.

Usage: python spoken_numbers.py OUTPUT. One line a number: language, number, words, parted by tabs. What we write otherwise on
purpose is brought to our form here: no comma after thousands, no "and" in American English, French with the hyphens of before
1990 and "et" set apart; in Italian a last "tre" of a longer word has its accent (and the package's "centodicotto" lacks a
letter), and in Spanish a last "uno" is shortened before "mil", as the grammars of both languages want it.
"""

import sys

from num2words import num2words

NUMBERS = [*range(0, 201), 299, 300, 301, 345, 480, 500, 580, 700, 707, 900, 999, 1000, 1001, 1003, 1021, 1080, 1100,
           1234, 2000, 2013, 5000, 21000, 21021, 31500, 80000, 80080, 100000, 200000, 200200, 222333, 999999]


def words(lang, n):
    if lang == "en-GB":
        return num2words(n, lang="en").replace(",", "")
    if lang == "en-US":
        return num2words(n, lang="en").replace(",", "").replace(" and ", " ")
    said = num2words(n, lang=lang)
    if lang == "it":
        said = said.replace("dicotto", "diciotto")
        if n > 20 and said.endswith("tre"):
            said = said[:-1] + "é"
    if lang == "es":
        said = said.replace("veintiuno mil", "veintiún mil").replace("uno mil", "un mil")
    return said


with open(sys.argv[1], "w", encoding="utf-8") as out:
    for lang in ["en-GB", "en-US", "de", "es", "fr", "it"]:
        for n in NUMBERS:
            out.write(f"{lang}\t{n}\t{words(lang, n)}\n")
