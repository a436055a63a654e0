"""The questions put to the tables: what an audit's conclusions are counted from.

Each takes one kind of walk (`$kind`, a name's code).  All of the heavy ones group by
vehicle, so that a fleet split by vehicle gives the same rows, part by part.
"""

from __future__ import annotations

WALKS = """
SELECT w.walk, w.id, h.path, w.began_ms, w.who, w.vehicle FROM walks w JOIN here h USING (walk)
WHERE w.walk IN (SELECT unnest($walks))
"""

PEOPLE = """
SELECT who, count(*), min(began_ms), max(began_ms), coalesce(avg(took_s) FILTER (took_s >= 0), -1),
       count(*) FILTER (ended <> $complete)
FROM now WHERE kind = $kind GROUP BY who
"""

VEHICLES = "SELECT DISTINCT vehicle FROM now WHERE kind = $kind"

COUNTS = """
SELECT count(*), count(*) FILTER (NOT planned), count(*) FILTER (NOT timed)
FROM now WHERE kind = $kind
"""

LEFT_OUT = """
SELECT n.who, s.step, count(*), count(*) FILTER (s.state <> $done),
       arg_max(s.walk, n.began_ms, 5) FILTER (s.state <> $done)
FROM steps s JOIN now n USING (walk)
WHERE n.kind = $kind AND NOT s.act AND n.ended = $complete
GROUP BY n.who, s.step
"""

ELSEWHERE = """
SELECT n.who, o.step, o.how, count(*), arg_max(n.walk, n.began_ms, 3)
FROM alignment o JOIN now n USING (walk)
WHERE n.kind = $kind AND o.how <> $left_out
GROUP BY n.who, o.step, o.how ORDER BY count(*) DESC, n.who, o.step LIMIT $most
"""

# Each reading beside the one before it: same person, same vehicle, same question.
PAIRS = """
CREATE OR REPLACE TEMP TABLE pairs AS
SELECT n.walk, n.who, n.vehicle, n.began_ms, r.question, r.value, r.unit,
       lag(r.value) OVER before AS earlier,
       r.value IS NOT DISTINCT FROM lag(r.value) OVER before
         AND r.second IS NOT DISTINCT FROM lag(r.second) OVER before AS equal,
       lag(n.walk) OVER before AS earlier_walk,
       hash(r.question, r.value, r.second) AS mark
FROM readings r JOIN now n USING (walk)
WHERE n.kind = $kind AND r.unit <> $no_unit
WINDOW before AS (PARTITION BY n.who, n.vehicle, r.question ORDER BY n.began_ms, n.walk)
"""

SAME = """
SELECT who, vehicle, question, count(earlier), count(*) FILTER (equal AND earlier IS NOT NULL),
       min(began_ms), max(began_ms), arg_max(value, began_ms), any_value(unit),
       arg_max(walk, began_ms)
FROM pairs GROUP BY who, vehicle, question
"""

# A walk's readings as one number, so that any earlier day with the very same is found.
VECTORS = """
CREATE OR REPLACE TEMP TABLE vectors AS
SELECT walk, any_value(who) AS who, any_value(vehicle) AS vehicle,
       any_value(began_ms) AS began_ms, count(*) AS readings, bit_xor(mark) AS mark,
       count(earlier) AS compared,
       count(*) FILTER (equal AND earlier IS NOT NULL) AS equal,
       max(earlier_walk) AS before,
FROM pairs GROUP BY walk;
CREATE OR REPLACE TEMP TABLE copies AS
SELECT walk, who, vehicle, began_ms, readings, compared, equal, before,
       first_value(walk) OVER same AS first_alike,
       row_number() OVER same AS alike,
       row_number() OVER (PARTITION BY who, vehicle ORDER BY began_ms, walk) - 1 AS earlier_walks
FROM vectors
WINDOW same AS (PARTITION BY who, vehicle, mark, readings ORDER BY began_ms, walk)
"""

COPIES = """
SELECT who, vehicle, count(*) FILTER (earlier_walks > 0), count(*) FILTER (alike > 1),
       arg_max(walk, began_ms, 5) FILTER (alike > 1)
FROM copies WHERE readings >= $fewest GROUP BY who, vehicle
"""

COPIED = """
WITH near AS (
  SELECT walk, CASE WHEN alike > 1 THEN first_alike ELSE before END AS source, earlier_walks,
         alike > 1 AS whole
  FROM copies
  WHERE readings >= $fewest AND (alike > 1 OR (compared >= $fewest AND equal >= 0.9 * compared))
  QUALIFY row_number() OVER (PARTITION BY who, vehicle ORDER BY began_ms DESC) <= 3)
SELECT near.walk, near.source, near.earlier_walks, p.who, p.vehicle,
       list(p.question) FILTER (near.whole OR p.equal),
       list(p.question) FILTER (NOT near.whole AND NOT p.equal AND p.earlier IS NOT NULL)
FROM near JOIN pairs p USING (walk) GROUP BY ALL
"""

COPY_TESTS = "SELECT count(*) FROM copies WHERE readings >= $fewest AND earlier_walks > 0"

# A number that comes again and again on a vehicle counts once; what varies widely, each time.
DIGITS = """
WITH groups AS (
  SELECT who, vehicle, question, coalesce(stddev_samp(value), 0) AS spread, mode(value) AS usual
  FROM pairs WHERE unit = $psi GROUP BY who, vehicle, question),
numbers AS (
  SELECT DISTINCT who, vehicle, usual AS value, NULL AS walk FROM groups WHERE spread < 10
  UNION ALL
  SELECT p.who, p.vehicle, p.value, p.walk FROM pairs p JOIN groups USING (who, vehicle, question)
  WHERE spread >= 10 AND p.unit = $psi)
SELECT who, CAST(value AS BIGINT) % 10, count(*) FROM numbers
WHERE value = round(value) AND value >= 0 GROUP BY ALL
"""

LATEST = "SELECT who, arg_max(walk, began_ms) FROM now WHERE kind = $kind GROUP BY who"

SERIES = """
SELECT n.vehicle, v.step, v.measure, v.rule, any_value(v.place), any_value(v.unit),
       arg_max(v.limit, n.began_ms),
       list(n.began_ms ORDER BY n.began_ms, n.walk), list(v.value ORDER BY n.began_ms, n.walk),
       list(n.walk ORDER BY n.began_ms, n.walk)
FROM verdicts v JOIN now n USING (walk)
WHERE n.kind = $kind AND NOT isnan(v.value) AND n.began_ms >= 0
  AND v.measure IN (SELECT unnest($measures))
GROUP BY n.vehicle, v.step, v.measure, v.rule
HAVING count(*) >= $fewest
"""

RECURRING = """
WITH ranked AS (
  SELECT walk, vehicle, began_ms,
         row_number() OVER (PARTITION BY vehicle ORDER BY began_ms, walk) AS place,
         count(*) OVER (PARTITION BY vehicle) AS places
  FROM now WHERE kind = $kind),
found AS (
  SELECT DISTINCT r.*, f.step, f.what FROM findings f JOIN ranked r USING (walk)),
runs AS (
  SELECT *, place - row_number() OVER (PARTITION BY vehicle, step, what ORDER BY place) AS run
  FROM found)
SELECT vehicle, step, what, list(walk ORDER BY place DESC)[:5], count(*), min(began_ms),
       max(began_ms), max(place) = any_value(places)
FROM runs GROUP BY vehicle, step, what, run HAVING count(*) >= 3
"""

NOTES = """
SELECT t.walk, t.sort, t.step, t.says FROM notes t JOIN now n USING (walk)
WHERE n.kind = $kind ORDER BY t.walk LIMIT $most
"""

# Two different records with one id; one that was stopped and then gone on with is no such case.
DOUBLES = """
SELECT list(w.walk ORDER BY w.walk) FROM walks w JOIN here USING (walk)
WHERE w.kind = $kind AND w.ended = $complete
GROUP BY w.id HAVING count(*) > 1
"""

TAKEN = "SELECT content FROM looked WHERE content <> ''"
"""Contents that conclusions were drawn from."""

LOOKED = "SELECT standing, count(*) FROM looked GROUP BY standing ORDER BY standing"

LISTED = """
SELECT path, size, standing, why FROM looked
WHERE standing = $standing ORDER BY path LIMIT $most
"""

TITLES = "SELECT step, any_value(title) FROM steps GROUP BY step"

UNFINISHED = """
SELECT w.walk, w.id, h.path, w.began_ms, w.who, w.vehicle FROM walks w JOIN here h USING (walk)
WHERE w.standing = $standing AND w.kind = $kind ORDER BY w.began_ms DESC LIMIT $most
"""

_COUNTERSIGNED = """
FROM countersignatures c JOIN now n ON n.content[:64] = c.record
WHERE n.kind = $kind AND c.kind = n.kind AND c.key <> n.key
  AND c.content IN (SELECT content FROM looked WHERE standing = $standing)
"""
COUNTERSIGNED = f"""
SELECT n.walk, c.who, c.signer, c.signed, c.remarks {_COUNTERSIGNED}
ORDER BY c.signed DESC LIMIT $most
"""
BORNE_OUT = f"SELECT count(DISTINCT n.walk) {_COUNTERSIGNED}"
