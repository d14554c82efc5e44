"""What a review shows, asked of the records in plain SQL: one statement a panel, nothing worked out ahead, no page.

Each takes the client (?1) and the local minute from which the review shows (?2). `SUMS` alone is the shortest form of
the question, the table of days; `WHOLE` is all of it, as the page answers it.
"""

from __future__ import annotations

SESSIONS = """SELECT at_min, device, seq, CAST(content AS TEXT) AS told FROM records
  WHERE client_id = ?1 AND at_min >= ?2 AND kind = 'session' AND aside = 0 AND late = 0"""
STRENGTH = "coalesce(json_extract(told, '$.strength_half_ma'), json_extract(told, '$.strength_level'))"
FINDING = "(2, 3, 4, 5)"

SUMS = f"""SELECT at_min / 1440 AS day, count(*), sum(json_extract(told, '$.cued_s')),
  sum(json_extract(told, '$.contractions_n[0]')), avg(json_extract(told, '$.pain_after_n')),
  avg(json_extract(told, '$.effort_n')), max(json_extract(told, '$.strength_half_ma[0]')),
  group_concat(json_extract(told, '$.skin_after')), group_concat(json_extract(told, '$.note'))
FROM ({SESSIONS}) GROUP BY day"""

WHOLE = (
    "SELECT * FROM clients WHERE id = ?1 AND ?2",
    "SELECT version, issued, note, issued_ms FROM plans WHERE client_id = ?1 AND ?2 ORDER BY version DESC",
    SUMS,
    # done, cut short, attempts, time and contractions of each exercise and version
    f"""SELECT json_extract(told, '$.exercise') AS exercise, json_extract(told, '$.version') AS version,
      sum(json_extract(told, '$.cued_s') >= 60),
      sum(json_extract(told, '$.cued_s') < 0.8 * json_extract(told, '$.planned_s')),
      sum(json_extract(told, '$.ended') > 1), sum(json_extract(told, '$.cued_s')), sum(json_extract(told, '$.help') = 2)
    FROM ({SESSIONS}) GROUP BY exercise, version""",
    # the dose of each channel: contractions, and contractions × strength
    f"""SELECT json_extract(told, '$.exercise') AS exercise, json_extract(told, '$.version') AS version, c.key,
      sum(c.value), sum(c.value * s.value), avg(s.value)
    FROM ({SESSIONS}), json_each(told, '$.contractions_n') c, json_each({STRENGTH}) s WHERE s.key = c.key
    GROUP BY exercise, version, c.key""",
    # strength over time
    f"""SELECT at_min, json_extract(told, '$.exercise'), s.key, s.value FROM ({SESSIONS}), json_each({STRENGTH}) s
    WHERE s.value >= 0 ORDER BY at_min""",
    # pain before and after, effort, help, what was written
    f"""SELECT at_min, json_extract(told, '$.pain_before_n'), json_extract(told, '$.pain_after_n'),
      json_extract(told, '$.effort_n'), json_extract(told, '$.help'), json_extract(told, '$.note')
    FROM ({SESSIONS}) ORDER BY at_min""",
    # the skin, place by place
    f"""SELECT at_min, json_extract(told, '$.exercise'), 'before', s.key, s.value
      FROM ({SESSIONS}), json_each(told, '$.skin_before') s WHERE s.value NOT IN (0, 9)
    UNION ALL SELECT at_min, json_extract(told, '$.exercise'), 'after', s.key, s.value
      FROM ({SESSIONS}), json_each(told, '$.skin_after') s WHERE s.value NOT IN (0, 9) ORDER BY 1""",
    # where setting up goes wrong, when it is done, how the unit's clock goes
    f"""SELECT json_extract(told, '$.exercise') AS exercise, s.value, count(*)
    FROM ({SESSIONS}), json_each(told, '$.steps_skipped') s GROUP BY exercise, s.value""",
    f"""SELECT json_extract(told, '$.exercise') AS exercise, json_extract(told, '$.longest_step') AS step, count(*),
      avg(json_extract(told, '$.longest_step_s')), avg(json_extract(told, '$.set_up_s'))
    FROM ({SESSIONS}) GROUP BY 1, 2""",
    f"SELECT at_min % 1440 / 60 AS hour, count(*) FROM ({SESSIONS}) GROUP BY hour",
    f"""SELECT json_extract(told, '$.exercise'), min(ppm), max(ppm), avg(ppm) FROM (
      SELECT told, json_extract(told, '$.period_ppm') AS ppm FROM ({SESSIONS})) WHERE ppm <> 1000000 GROUP BY 1""",
    # the other records: looks at the skin, days not practised, new pads, findings
    """SELECT at_min, device, seq, kind, content, received_ms, road, aside, late FROM records
    WHERE client_id = ?1 AND at_min >= ?2 AND (kind <> 'session' OR aside = 1 OR late = 1) ORDER BY at_min""",
    # looks at the skin that were due and not answered
    f"""SELECT at_min, seq FROM ({SESSIONS}) AS done
    WHERE EXISTS (SELECT 1 FROM json_each(told, '$.skin_after') s WHERE s.value NOT IN (0, 9)) AND NOT EXISTS (
      SELECT 1 FROM records look WHERE look.client_id = ?1 AND look.at_min >= ?2 AND look.kind = 'skin_later'
        AND look.device = done.device AND json_extract(CAST(look.content AS TEXT), '$.session_seq') = done.seq)""",
    # of the whole log: what waits for an answer, and sessions whose date cannot be
    f"""SELECT r.device, r.seq, s.key, s.value FROM records r, json_each(CAST(r.content AS TEXT), '$.skin_after') s
    WHERE r.client_id = ?1 AND ?2 AND r.kind = 'session' AND s.value IN {FINDING} AND NOT EXISTS (
      SELECT 1 FROM answers a WHERE a.device = r.device AND a.seq = r.seq AND a.rule = 'skin')""",
    """SELECT count(*) FROM records WHERE client_id = ?1 AND ?2 AND kind = 'session' AND at_min < (
      SELECT min(julianday(json_extract(issued, '$.first_day')) - 2440587.5 - 31) * 1440 FROM plans
      WHERE client_id = ?1)""",
    # the phones, what each brought home, and what lacks
    """SELECT d.*, count(r.id), max(r.seq) FROM devices d LEFT JOIN records r ON r.device = d.device
    WHERE d.client_id = ?1 AND ?2 GROUP BY d.device""",
    "SELECT * FROM answers WHERE client_id = ?1 AND ?2 ORDER BY answered_ms",
    "SELECT * FROM rests_ended WHERE client_id = ?1 AND ?2",
    "SELECT * FROM pauses WHERE client_id = ?1 AND ?2",
    "SELECT day FROM goal_reviews WHERE client_id = ?1 AND ?2 UNION SELECT day FROM readings WHERE client_id = ?1",
    # what is compared: the days since the last version beside those before it
    f"""SELECT at_min >= (SELECT max(issued_ms) / 60000 FROM plans WHERE client_id = ?1) AS since, count(*),
      sum(json_extract(told, '$.cued_s')), avg(json_extract(told, '$.pain_after_n')),
      avg(json_extract(told, '$.effort_n')), avg(json_extract(told, '$.strength_half_ma[0]'))
    FROM ({SESSIONS}) GROUP BY since""",
)
