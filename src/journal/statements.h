/* Every statement the journal runs, once. They are prepared on first use; a test asks SQLite for
 * the plan of each and refuses a scan of anything that grows with the record. */
#ifndef AMBLE_JOURNAL_STATEMENTS_H
#define AMBLE_JOURNAL_STATEMENTS_H

/* An entry with its names, as entry_read expects it. */
#define ENTRY_COLUMNS                                                                              \
    "e.id, e.kind, n.uuid, k.name, i.name, e.value, a.uuid, e.reason, e.claimed_at, e.lamport, "   \
    "e.replaces, e.salt, e.hash, d.uuid, e.entity, e.item"
#define ENTRY_NAMES                                                                                \
    " JOIN entity n ON n.id = e.entity JOIN kind k ON k.id = n.kind"                               \
    " JOIN item i ON i.id = e.item JOIN author a ON a.id = e.author"                               \
    " JOIN device d ON d.id = e.device"

/* Heads of one entity, as head_read expects them: read with every screen, so the names behind the
 * numbers come from what is remembered of them, and they are put in order once they have theirs. */
#define STANDING_HEADS                                                                             \
    "SELECT e.id, e.kind, e.item, e.value, e.author, e.reason, e.claimed_at, e.lamport,"           \
    " e.replaces FROM head h JOIN entry e ON e.id = h.entry WHERE h.entity = ?1"

#define STATEMENTS(X)                                                                              \
    X(BEGIN_READ, "BEGIN")                                                                         \
    X(BEGIN_WRITE, "BEGIN IMMEDIATE")                                                              \
    X(COMMIT, "COMMIT")                                                                            \
    X(DATA_VERSION, "PRAGMA data_version")                                                         \
    /* names and their numbers */                                                                  \
    X(DEVICE_ID, "SELECT id FROM device WHERE uuid = ?1")                                          \
    X(DEVICE_ADD, "INSERT INTO device(uuid, name) VALUES (?1, ?2)")                                \
    X(DEVICE_NAME, "UPDATE device SET name = ?2 WHERE id = ?1")                                    \
    X(DEVICE_HOLDS, "UPDATE device SET holds = ?2 WHERE id = ?1")                                  \
    X(DEVICE_OF, "SELECT uuid, name FROM device WHERE id = ?1")                                    \
    X(DEVICES, "SELECT id, uuid, name, holds FROM device ORDER BY id")                             \
    X(SELF, "SELECT s.device, d.uuid FROM self s JOIN device d ON d.id = s.device")                \
    X(SELF_SET, "INSERT OR REPLACE INTO self(one, device) VALUES (1, ?1)")                         \
    X(KIND_ID, "SELECT id FROM kind WHERE name = ?1")                                              \
    X(KIND_ADD, "INSERT INTO kind(name) VALUES (?1)")                                              \
    X(KIND_GROWS, "UPDATE kind SET members = members + 1 WHERE id = ?1")                           \
    X(KIND_MEMBERS, "SELECT members FROM kind WHERE name = ?1")                                    \
    X(ENTITY_ID, "SELECT n.id, k.name FROM entity n JOIN kind k ON k.id = n.kind"                  \
                 " WHERE n.uuid = ?1")                                                             \
    X(ENTITY_ADD, "INSERT INTO entity(uuid, kind) VALUES (?1, ?2)")                                \
    X(ENTITY_LAST, "SELECT max(id) FROM entity")                                                   \
    X(ENTITY_PAGE, "SELECT id, uuid FROM entity WHERE kind = ?1 AND id > ?2 ORDER BY id LIMIT ?3") \
    X(ITEM_ID, "SELECT id FROM item WHERE name = ?1")                                              \
    X(ITEM_ADD, "INSERT INTO item(name) VALUES (?1)")                                              \
    X(ITEM_OF, "SELECT name FROM item WHERE id = ?1")                                              \
    X(AUTHOR_ID, "SELECT id FROM author WHERE uuid = ?1")                                          \
    X(AUTHOR_ADD, "INSERT INTO author(uuid) VALUES (?1)")                                          \
    X(AUTHOR_OF, "SELECT uuid FROM author WHERE id = ?1")                                          \
    /* entries */                                                                                  \
    X(ENTRY_ADD,                                                                                   \
      "INSERT INTO entry(id, kind, entity, item, author, claimed_at, lamport, replaces,"           \
      " value, reason, salt, hash)"                                                                \
      " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)")                               \
    X(ENTRY_TIP, "SELECT id, lamport, hash FROM entry WHERE id > ?1 AND id <= ?2"                  \
                 " ORDER BY id DESC LIMIT 1")                                                      \
    X(ENTRY_BRIEF, "SELECT entity, item, lamport, claimed_at, hash FROM entry WHERE id = ?1")      \
    X(ENTRY_STRAY, "SELECT id FROM entry WHERE id >> 40 NOT IN (SELECT id FROM device) LIMIT 1")   \
    X(ENTRIES_FROM, "SELECT " ENTRY_COLUMNS " FROM entry e" ENTRY_NAMES                            \
                    " WHERE e.id > ?1 AND e.id <= ?2 ORDER BY e.id")                               \
    X(ENTRY_AT, "SELECT " ENTRY_COLUMNS " FROM entry e" ENTRY_NAMES " WHERE e.id = ?1")            \
    X(REPLACED_ADD, "INSERT OR IGNORE INTO replaced(earlier, later, tag) VALUES (?1, ?2, ?3)")     \
    X(REPLACED_BY,                                                                                 \
      "SELECT r.earlier, d.uuid, r.tag FROM replaced r JOIN device d ON d.id = r.earlier >> 40"    \
      " WHERE r.later = ?1 ORDER BY d.uuid, r.earlier")                                            \
    /* An edge counts between entries of one item and upwards in lamport only, so that what        \
     * follows is a function of the set of entries, whatever a broken device may have sent. ?5 is  \
     * the entry's tag, ?6 the same when it is of a branch that moved: see edge_means. */          \
    X(IS_REPLACED, "SELECT 1 FROM replaced r JOIN entry e ON e.id = r.later WHERE r.earlier = ?1"  \
                   " AND (r.tag IS NULL OR r.tag = ?5)"                                            \
                   " AND e.entity = ?2 AND e.item = ?3 AND e.lamport > ?4"                         \
                   " UNION ALL SELECT 1 FROM replaced r JOIN entry e ON e.id = r.later"            \
                   " WHERE r.tag = ?6 AND e.entity = ?2 AND e.item = ?3 AND e.lamport > ?4"        \
                   " LIMIT 1")                                                                     \
    X(AWAITED, "SELECT max(earlier) FROM replaced WHERE earlier >= ?1 AND earlier <= ?2")          \
    X(HEAD_ADD, "INSERT INTO head(entity, item, entry, key) VALUES (?1, ?2, ?3, ?4)")              \
    X(HEAD_DROP, "DELETE FROM head WHERE entity = ?1 AND item = ?2 AND entry = ?3")                \
    X(HEADS_BELOW,                                                                                 \
      "SELECT " ENTRY_COLUMNS " FROM head h JOIN entry e ON e.id = h.entry" ENTRY_NAMES            \
      " WHERE h.entity = ?1 AND h.item = ?2 AND e.lamport < ?3")                                   \
    X(BRANCHED_ADD, "INSERT OR IGNORE INTO branched(entity, item, entry) VALUES (?1, ?2, ?3)")     \
    X(BRANCHED_IS, "SELECT 1 FROM branched WHERE entity = ?1 AND item = ?2 AND entry = ?3")        \
    X(BRANCHED, "SELECT entry FROM branched WHERE entity = ?1 AND item = ?2")                      \
    X(HEAD_IS, "SELECT 1 FROM head WHERE entity = ?1 AND item = ?2 AND entry = ?3 AND key IS ?4")  \
    X(HEADS_MANY, "SELECT 1 FROM head WHERE entity = ?1 AND item = ?2 LIMIT 1 OFFSET 1")           \
    X(HEADS_DIFFER, "SELECT min(e.kind || ' ' || ifnull(e.value, ''))"                             \
                    " IS NOT max(e.kind || ' ' || ifnull(e.value, '')) FROM head h"                \
                    " JOIN entry e ON e.id = h.entry WHERE h.entity = ?1 AND h.item = ?2")         \
    X(CONFLICT_ADD, "INSERT OR IGNORE INTO conflict(entity, item) VALUES (?1, ?2)")                \
    X(CONFLICT_DROP, "DELETE FROM conflict WHERE entity = ?1 AND item = ?2")                       \
    X(CONFLICTS, "SELECT n.uuid, k.name, i.name FROM conflict c JOIN entity n ON n.id = c.entity"  \
                 " JOIN kind k ON k.id = n.kind JOIN item i ON i.id = c.item"                      \
                 " ORDER BY c.entity, c.item LIMIT ?1")                                            \
    X(CONFLICT_COUNT, "SELECT count(*) FROM conflict")                                             \
    /* reading */                                                                                  \
    X(STANDING, STANDING_HEADS)                                                                    \
    X(STANDING_ITEM, STANDING_HEADS " AND h.item = ?2")                                            \
    X(SIGNABLE,                                                                                    \
      "SELECT e.kind, i.name, e.value, e.salt, e.lamport FROM head h"                              \
      " JOIN entry e ON e.id = h.entry JOIN item i ON i.id = e.item WHERE h.entity = ?1")          \
    X(HISTORY_OF, "WITH RECURSIVE story(id) AS ("                                                  \
                  "SELECT entry FROM head WHERE entity = ?1 AND item = ?2 UNION "                  \
                  "SELECT entry FROM branched WHERE entity = ?1 AND item = ?2 UNION "              \
                  "SELECT r.earlier FROM story s JOIN replaced r ON r.later = s.id) "              \
                  "SELECT " ENTRY_COLUMNS " FROM story s JOIN entry e ON e.id = s.id" ENTRY_NAMES  \
                  " WHERE e.entity = ?1 AND e.item = ?2 ORDER BY e.lamport, d.uuid, e.id")         \
    X(ENTRIES_OF, "WITH RECURSIVE story(id) AS ("                                                  \
                  "SELECT entry FROM head WHERE entity = ?1 UNION "                                \
                  "SELECT entry FROM branched WHERE entity = ?1 UNION "                            \
                  "SELECT r.earlier FROM story s JOIN replaced r ON r.later = s.id) "              \
                  "SELECT " ENTRY_COLUMNS " FROM story s JOIN entry e ON e.id = s.id" ENTRY_NAMES  \
                  " WHERE e.entity = ?1")                                                          \
    X(SIGNS, "SELECT " ENTRY_COLUMNS " FROM head h JOIN entry e ON e.id = h.entry" ENTRY_NAMES     \
             " WHERE e.kind = 3")                                                                  \
    X(RECENT, "SELECT " ENTRY_COLUMNS " FROM entry e" ENTRY_NAMES                                  \
              " WHERE e.id > ?1 AND e.id <= ?2 AND a.uuid = ?3 ORDER BY e.id DESC LIMIT ?4")       \
    /* Grouped as the index lies: DISTINCT would make a table for each question. An entity whose   \
     * values differ is named once, at its first value. */                                         \
    X(BY_VALUE, "SELECT n.uuid FROM head h JOIN entity n ON n.id = h.entity"                       \
                " WHERE h.item = ?1 AND h.key = ?2 GROUP BY h.entity LIMIT ?3")                    \
    X(BY_RANGE, "SELECT n.uuid FROM head h JOIN entity n ON n.id = h.entity"                       \
                " WHERE h.item = ?1 AND h.key >= ?2 AND h.key < ?3"                                \
                " AND NOT EXISTS (SELECT 1 FROM head o WHERE o.entity = h.entity"                  \
                "  AND o.item = h.item AND +o.key >= ?2 AND +o.key < h.key)"                       \
                " GROUP BY h.key, h.entity LIMIT ?4")                                              \
    X(LATEST, "SELECT n.uuid FROM head h JOIN entity n ON n.id = h.entity"                         \
              " WHERE h.item = ?1 AND h.key < ?2"                                                  \
              " AND NOT EXISTS (SELECT 1 FROM head o WHERE o.entity = h.entity"                    \
              "  AND o.item = h.item AND +o.key < ?2 AND +o.key > h.key)"                          \
              " GROUP BY h.key, h.entity ORDER BY h.key DESC, h.entity DESC LIMIT ?3")             \
    /* finding by typing */                                                                        \
    X(HEAD_TEXTS, "SELECT e.value FROM head h JOIN entry e ON e.id = h.entry"                      \
                  " WHERE h.entity = ?1 AND h.item = ?2 AND e.kind = 1 AND e.value IS NOT NULL"    \
                  " ORDER BY e.lamport, e.hash")                                                   \
    X(FOUND_GET, "SELECT words, names, phones, texts FROM found WHERE entity = ?1")                \
    X(FOUND_PUT, "INSERT OR REPLACE INTO found(entity, words, names, phones, texts)"               \
                 " VALUES (?1, ?2, ?3, ?4, ?5)")                                                   \
    X(FOUND_HIT, "SELECT n.uuid, k.name, f.texts FROM found f JOIN entity n ON n.id = f.entity"    \
                 " JOIN kind k ON k.id = n.kind WHERE f.entity = ?1")                              \
    X(FOUND_DROP, "DELETE FROM found WHERE entity = ?1")                                           \
    X(SEARCH_ADD, "INSERT INTO search(rowid, words) VALUES (?1, ?2)")                              \
    X(SEARCH_DROP, "INSERT INTO search(search, rowid, words) VALUES ('delete', ?1, ?2)")           \
    X(SEARCH, "SELECT rowid FROM search WHERE search MATCH ?1 ORDER BY rowid LIMIT ?2")            \
    X(SEARCH_WORDS, "SELECT s.rowid, f.words FROM search s CROSS JOIN found f"                     \
                    " ON f.entity = s.rowid WHERE s.search MATCH ?1 ORDER BY s.rowid LIMIT ?2")    \
    X(WORD_ADD, "INSERT INTO word(length, folded, letters, uses) VALUES (?1, ?2, ?3, 1)"           \
                " ON CONFLICT DO UPDATE SET uses = uses + 1")                                      \
    X(WORD_LESS, "UPDATE word SET uses = uses - 1 WHERE length = ?1 AND folded = ?2")              \
    X(WORD_DROP, "DELETE FROM word WHERE length = ?1 AND folded = ?2 AND uses <= 0")               \
    X(WORDS_NEAR, "SELECT folded, letters FROM word WHERE length BETWEEN ?1 AND ?2")               \
    X(PHONE_ADD, "INSERT OR IGNORE INTO phone(reversed, entity) VALUES (?1, ?2)")                  \
    X(PHONE_DROP, "DELETE FROM phone WHERE reversed = ?1 AND entity = ?2")                         \
    X(PHONES, "SELECT entity FROM phone WHERE reversed >= ?1 AND reversed < ?2 LIMIT ?3")          \
    /* what never travels */                                                                       \
    X(DRAFT_PUT,                                                                                   \
      "INSERT OR REPLACE INTO draft(entity, kind, item, typed) VALUES (?1, ?2, ?3, ?4)")           \
    X(DRAFT_DROP, "DELETE FROM draft WHERE entity = ?1 AND item = ?2")                             \
    X(DRAFT_KIND, "SELECT kind FROM draft WHERE entity = ?1 LIMIT 1")                              \
    X(DRAFTS, "SELECT entity, item, typed FROM draft ORDER BY entity, item")                       \
    X(SETTING_GET, "SELECT value FROM setting WHERE name = ?1")                                    \
    X(SETTING_PUT, "INSERT OR REPLACE INTO setting(name, value) VALUES (?1, ?2)")                  \
    /* for the exchange between devices */                                                         \
    X(KEPT_GET, "SELECT bytes FROM kept WHERE name = ?1")                                          \
    X(KEPT_PUT, "INSERT OR REPLACE INTO kept(name, bytes) VALUES (?1, ?2)")                        \
    X(KEPT_DROP, "DELETE FROM kept WHERE name = ?1")                                               \
    X(KEPT_FROM, "SELECT name, bytes FROM kept WHERE name >= ?1 ORDER BY name")                    \
    X(SEED_GET, "SELECT seed FROM seed WHERE device = ?1 AND block = ?2")                          \
    X(SEED_PUT, "INSERT OR IGNORE INTO seed(device, block, seed) VALUES (?1, ?2, ?3)")             \
    X(SCHEMA_OF, "SELECT sql FROM sqlite_schema WHERE name = ?1")                                  \
    X(TOUCHED,                                                                                     \
      "SELECT DISTINCT e.entity, e.item, i.name FROM entry e JOIN item i ON i.id = e.item"         \
      " WHERE e.id > ?1 AND e.id <= ?2")                                                           \
    X(EARLIER_OF, "SELECT earlier FROM replaced WHERE later > ?1 AND later <= ?2"                  \
                  " AND NOT (earlier > ?1 AND earlier <= ?2)"                                      \
                  " UNION SELECT b.entry FROM entry e JOIN branched b ON b.entity = e.entity"      \
                  " AND b.item = e.item WHERE e.id > ?1 AND e.id <= ?2"                            \
                  " AND NOT (b.entry > ?1 AND b.entry <= ?2)")                                     \
    X(HEADS_GO,                                                                                    \
      "DELETE FROM head WHERE (entity, item, entry) IN (SELECT entity, item, id FROM entry"        \
      " WHERE id > ?1 AND id <= ?2)")                                                              \
    X(BRANCHED_GO,                                                                                 \
      "DELETE FROM branched WHERE (entity, item, entry) IN (SELECT entity, item, id FROM entry"    \
      " WHERE id > ?1 AND id <= ?2)")                                                              \
    X(EDGES_GO, "DELETE FROM replaced WHERE later > ?1 AND later <= ?2")                           \
    X(ENTRIES_GO, "DELETE FROM entry WHERE id > ?1 AND id <= ?2")                                  \
    X(HEAD_PUT, "INSERT OR IGNORE INTO head(entity, item, entry, key) VALUES (?1, ?2, ?3, ?4)")    \
    X(ENTITY_HAS, "SELECT 1 FROM head WHERE entity = ?1 LIMIT 1")                                  \
    X(KIND_SHRINKS, "UPDATE kind SET members = members - 1 WHERE id = (SELECT kind FROM entity"    \
                    " WHERE id = ?1)")                                                             \
    X(ENTITY_DROP, "DELETE FROM entity WHERE id = ?1")

enum statement {
#define X(name, sql) name,
    STATEMENTS(X)
#undef X
        STATEMENT_COUNT
};

#endif
