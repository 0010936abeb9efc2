#!/usr/bin/env python3
"""plot.py TABLE.csv SETPOINTS.csv OUT.png: measured pulses (dots) over the setpoints (lines), and where pulses
started against the shared clock. Drawn by ImageMagick."""
import csv
import subprocess
import sys

WIDTH, LEFT, RIGHT, TOP, LANE = 1600, 190, 40, 86, 40
FONT = "/usr/share/fonts/opentype/inter/Inter-Regular.otf"
INK, DIM, RULE = "#1d2430", "#6a7484", "#e3e6eb"
COLOURS = ["#c2452d", "#1f6f8b", "#7a5aa6", "#3c7d3f", "#a0741c"]


def read(table, setpoints):
    measured, board = {}, {}
    for row in csv.DictReader(open(table)):
        measured.setdefault(row["actuator"], []).append((float(row["time_s"]), float(row["width_us"]), float(row["error_us"]), float(row["off_grid_us"])))
        board[row["actuator"]] = row["board"]
    end = max(point[0] for points in measured.values() for point in points)
    asked = {name: [] for name in measured}
    for row in csv.DictReader(open(setpoints)):
        if float(row["time_s"]) > end:
            break
        for name in asked:
            asked[name].append((float(row["time_s"]), float(row[name])))
    return measured, asked, board, end


def text(x, y, words, size=15, colour=INK):
    return f"stroke none fill '{colour}' font-size {size} text {x:.1f},{y:.1f} '{words}'"


def path(points):
    return "polyline " + " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


def lanes(measured, asked, board, end, boards):
    out = []
    across = lambda t: LEFT + max(0, t) / end * (WIDTH - LEFT - RIGHT)
    for place, name in enumerate(sorted(measured, key=lambda n: (boards.index(board[n]), n))):
        top, colour = TOP + place * LANE, COLOURS[boards.index(board[name]) % len(COLOURS)]
        widths = [w for _, w in asked[name]] + [m[1] for m in measured[name]]
        low, high = min(widths), max(widths)
        span = max(high - low, 20)
        down = lambda w: top + LANE - 9 - (w - (low + high) / 2 + span / 2) / span * (LANE - 16)
        out.append(f"stroke '{RULE}' stroke-width 1 line {LEFT},{top + LANE} {WIDTH - RIGHT},{top + LANE}")
        out.append(text(20, top + 20, name.replace("_", " "), 14))
        out.append(text(20, top + 34, f"{low:.0f} to {high:.0f} us", 11, DIM))
        out.append(f"fill none stroke '{colour}' stroke-opacity 0.45 stroke-width 1.4 " + path([(across(t), down(w)) for t, w in asked[name]]))
        out.append(f"stroke-opacity 1 stroke none fill '{colour}'")
        out += [f"circle {across(t):.2f},{down(w):.2f} {across(t) + 1.5:.2f},{down(w):.2f}" for t, w, _, _ in measured[name]]
    return out


def starts(measured, board, end, boards, top):
    """Each board's pulses against the mean start of all of them."""
    points = {b: sorted((m[0], m[3]) for n, ms in measured.items() if board[n] == b for m in ms) for b in boards}
    every = [off for each in points.values() for _, off in each]
    mean = sum(every) / len(every)
    most = 50
    across = lambda t: LEFT + max(0, t) / end * (WIDTH - LEFT - RIGHT)
    down = lambda off: top + 75 - max(-70, min(70, (off - mean) / most * 60))
    out = [text(20, top + 20, "start of pulses", 14), text(20, top + 34, "apart, us", 11, DIM)]
    for level in (-most, 0, most):
        out.append(f"stroke '{RULE}' stroke-width 1 line {LEFT},{down(level + mean):.1f} {WIDTH - RIGHT},{down(level + mean):.1f}")
        out.append(text(LEFT - 34, down(level + mean) + 4, f"{level:+d}" if level else "0", 11, DIM))
    for place, b in enumerate(boards):
        out.append(f"stroke none fill '{COLOURS[place % len(COLOURS)]}'")
        out += [f"circle {across(t):.2f},{down(off):.2f} {across(t) + 1.3:.2f},{down(off):.2f}" for t, off in dict(points[b]).items()]
    return out


def main(table, setpoints, picture):
    measured, asked, board, end = read(table, setpoints)
    boards = sorted(set(board.values()))
    bottom = TOP + len(measured) * LANE
    height = bottom + 200
    worst = max(m[2] for ms in measured.values() for m in ms)
    draw = [f"viewbox 0 0 {WIDTH} {height}", f"fill white rectangle 0,0 {WIDTH},{height}", f"font '{FONT}'"]
    draw.append(text(20, 36, f"Servo pulses on the pins of {len(boards)} emulated boards in a chain", 22))
    draw.append(text(20, 60, f"Dots: pulses as measured. Lines: setpoints. {sum(map(len, measured.values()))} pulses, worst error {worst:.2f} us "
                             "(a pulse is whole microseconds).", 14, DIM))
    for place, b in enumerate(boards):
        draw.append(f"stroke none fill '{COLOURS[place % len(COLOURS)]}' circle {1180 + 140 * place},31 {1185 + 140 * place},31")
        draw.append(text(1192 + 140 * place, 36, b, 14))
    draw += lanes(measured, asked, board, end, boards) + starts(measured, board, end, boards, bottom + 8)
    step = 1 if end <= 12 else 5
    for second in range(0, int(end) + 1, step):
        x = LEFT + second / end * (WIDTH - LEFT - RIGHT)
        draw.append(text(x - 3, height - 16, f"{second} s", 12, DIM))
    script = picture + ".mvg"
    with open(script, "w") as file:
        file.write("\n".join(draw) + "\n")
    subprocess.run(["convert", "mvg:" + script, picture], check=True)


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
