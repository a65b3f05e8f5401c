"""Writes geometry_geos.csv: 10,000 cases measured with GEOS through shapely 2.

Run: python tests/references/geometry_geos.py > tests/references/geometry_geos.csv
Made with shapely 2.2.0, GEOS 3.14.1. Whole hundredths of a millimetre and of a degree go in, so
that the table stays small; bearings are clockwise from north.

rectangles: x, y, bearing, frontage, depth of two; their distance
tape:       x, y of both ends; bearing-sorted radii of a patch about (0, 0); length inside
"""

import math
import random

from shapely import LineString, Polygon


def rectangle(x, y, bearing, frontage, depth):
    sine, cosine = math.sin(math.radians(bearing)), math.cos(math.radians(bearing))
    corner = lambda right, ahead: (
        x + right * cosine + ahead * sine,
        y - right * sine + ahead * cosine,
    )
    f, d = frontage / 2, depth / 2
    return Polygon([corner(-f, d), corner(f, d), corner(f, -d), corner(-f, -d)])


def hundredths(low, high):
    return random.randint(low * 100, high * 100) / 100


def main():
    random.seed(20)
    for _ in range(5000):
        cases = []
        for _ in range(2):
            bearing = random.choice([hundredths(0, 359), 15.0 * random.randint(0, 23)])
            cases.append(
                (hundredths(-150, 150), hundredths(-150, 150), bearing, hundredths(10, 160), hundredths(10, 80))
            )
        distance = rectangle(*cases[0]).distance(rectangle(*cases[1]))
        print("r", *(f"{n:g}" for case in cases for n in case), f"{distance:.9f}", sep=",")
    for _ in range(5000):
        radii = [hundredths(20, 150) for _ in range(random.randint(3, 9))]
        turn = 2 * math.pi / len(radii)
        patch = Polygon(
            [(r * math.sin(i * turn), r * math.cos(i * turn)) for i, r in enumerate(radii)]
        )
        ends = [hundredths(-200, 200) for _ in range(4)]
        inside = LineString([ends[:2], ends[2:]]).intersection(patch).length
        print("t", *(f"{n:g}" for n in ends + radii), f"{inside:.9f}", sep=",")


if __name__ == "__main__":
    main()
