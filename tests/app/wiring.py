"""The wiring sheet, read back as a browser's parser would: whole tags, every actuator once, names escaped, sums that add up."""
import html.parser
import json
import pathlib
import subprocess
import tempfile

from program import check, finish, mien, root

VOID = {"meta"}


class Sheet(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.open, self.wrong, self.outside = [], [], []
        self.tables, self.text, self.tags = [], "", set()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.outside += [(k, v) for k, v in attrs if k in ("src", "href") or k.startswith("on")]
        if tag == "table":
            self.tables.append((dict(attrs)["class"], []))
        if tag == "tr":
            self.tables[-1][1].append([])
        if tag in ("td", "th"):
            self.tables[-1][1][-1].append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        self.text += data
        if self.open and self.open[-1] in ("td", "th"):
            self.tables[-1][1][-1][-1] += data

    def rows(self, kind):
        return [[dict(zip(rows[0], row)) for row in rows[1:]] for name, rows in self.tables if name == kind]


def amperes(text):
    return float(text.split()[0])


def sheet_of(rig, name):
    out = folder / f"{name}.html"
    done = subprocess.run([mien, "describe", str(rig), "--wiring", str(out)], capture_output=True, text=True, timeout=60)
    check(f"{name}: written", done.returncode in (0, 1) and done.stdout == "", (done.returncode, done.stdout, done.stderr))
    text = out.read_text(encoding="utf-8")
    sheet = Sheet(text)
    check(f"{name}: tags close in order", not sheet.wrong and not sheet.open, (sheet.wrong, sheet.open))
    check(f"{name}: no script, nothing from outside", not sheet.outside and not sheet.tags & {"script", "img", "link", "iframe"} and "url(" not in text, sheet.outside)
    parts = json.loads(pathlib.Path(rig).read_text())
    outputs = sheet.rows("outputs")
    names = [row["actuator"] for table in outputs for row in table if row["actuator"]]
    check(f"{name}: every actuator once", sorted(names) == sorted(a["name"] for a in parts["actuators"]), names)
    for board, table, rails in zip(parts["boards"], outputs, sheet.rows("rails")):
        check(f"{name}: board {board['address']} has a row for each output", [row["output"] for row in table] == [str(i) for i in range(board["outputs"])])
        for row in table:
            actuators = [a for a in parts["actuators"] if a["board"] == board["name"] and str(a["output"]) == row["output"]]
            if not actuators:
                check(f"{name}: output {row['output']} is spare", "spare" in row["servo"], row)
                continue
            a = actuators[0]
            right = (row["pulse range, \u00b5s"] == f"{a['pulse_min_us']:g} to {a['pulse_max_us']:g}" and row["group"] == a["group"]
                     and row["reversed"] == ("yes" if a["reversed"] else "no") and float(row["rest, deg"]) == a["rest_deg"])
            check(f"{name}: output {row['output']} as the rig has it", right, (row, a))
        for rail, told in zip(board["rails"], rails):
            mine = [amperes(row["worst case, stalled"]) for row in table if row["rail"] == rail["name"]]
            worst = amperes(told["worst case, all stalled"])
            check(f"{name}: rail {rail['name']!r} is the sum of its servos", abs(sum(mine) - worst) <= 0.005 * (len(mine) + 1), (mine, worst))
            within = worst <= 0.8 * rail["rating_a"]
            check(f"{name}: rail {rail['name']!r} is judged at 80 %", ("is above" not in told["verdict at 80 %"]) == within, told)
    beside = [row for table in sheet.rows("auxiliaries") for row in table]
    check(f"{name}: every auxiliary once, on its line", sorted((row["auxiliary"], row["line"].split()[0]) for row in beside) == sorted((a["name"], str(a["line"])) for a in parts.get("auxiliaries", [])), beside)
    chain = [(row["from"], row["to"]) for row in sheet.rows("cable")[0]]
    order = [b["name"] for b in sorted(parts["boards"], key=lambda b: b["address"])]
    check(f"{name}: the cable goes from the computer through all boards", chain == list(zip(["the computer"] + order, order)), chain)
    for word in ("Pinch", "hot enough to burn", "currents", "at the supply", "common ground", "Never from USB", "Batteries", "Mains", "local electrical codes", "licensed"):
        check(f"{name}: cautions name {word!r}", word in " ".join(sheet.text.split()))
    return sheet


with tempfile.TemporaryDirectory() as made:
    folder = pathlib.Path(made)
    keeper = root / "shows/keeper.rig.json"
    sheet_of(keeper, "keeper")
    sheet_of(root / "tests/samples/small.rig.json", "small")

    evil = "<script>alert('x')</script> & \"lid\""
    parts = json.loads(keeper.read_text())
    # One by one, so that the same string in another role stays as it is.
    old = parts["boards"][1]["name"]
    parts["boards"][1]["name"] = evil
    for a in parts["actuators"]:
        if a["board"] == old:
            a["board"] = evil
    rail = parts["boards"][0]["rails"][0]["name"]
    parts["boards"][0]["rails"][0]["name"] = "<b>rail"
    parts["boards"][0]["rails"][0]["rating_a"] = 1.0
    for a in parts["actuators"]:
        if a["board"] == parts["boards"][0]["name"] and a["rail"] == rail:
            a["rail"] = "<b>rail"
    parts["name"] = "<i>&amp;"
    broken = folder / "evil.rig.json"
    broken.write_text(json.dumps(parts))
    sheet = sheet_of(broken, "evil")
    check("evil: names stand as they were given", f"Board {evil}" in sheet.text and "Wiring of <i>&amp;" in sheet.text, sheet.text[:400])

    parts = json.loads(keeper.read_text())
    board, control = parts["boards"][0]["name"], parts["controls"][0]["name"]
    mood = {"name": "mood", "group": parts["groups"][0]["name"], "unit": "1", "min": 0, "max": 3, "rest": 0, "states": ["calm", "curious", "cross", "away"]}
    parts["controls"].append(mood)
    parts["auxiliaries"] = [{"name": "fan", "board": board, "line": 0, "kind": "fan"}, {"name": "lamp", "board": board, "control": control, "line": 1, "kind": "dimmer"},
                            {"name": "voice box", "board": parts["boards"][1]["name"], "control": "mood", "line": 0, "kind": "code", "lines": 2, "settle_ms": 5}]
    beside = folder / "beside.rig.json"
    beside.write_text(json.dumps(parts))
    text = " ".join(sheet_of(beside, "beside").text.split())
    for words in ("want a driver", "0 to 1", "Gray code", "by the rail's heat"):
        check(f"beside: says {words!r}", words in text)

    done = subprocess.run([mien, "describe", str(keeper), "--wiring", str(folder / "no" / "such.html")], capture_output=True, text=True, timeout=60)
    check("a folder that isn't there is said", done.returncode == 2 and "such.html" in done.stderr, done.stderr)
    done = subprocess.run([mien, "describe", str(keeper), "--wiring", "x.html", "--csv"], capture_output=True, text=True, timeout=60)
    check("--wiring and --csv exclude each other", done.returncode == 2, done.stderr)

finish()
