/* Shared by the two directions of pack.h. */
#ifndef AMBLE_SHARE_PACK_INSIDE_H
#define AMBLE_SHARE_PACK_INSIDE_H

enum { PACK_VERSION = 2 };

/* The streams, in their order. */
enum {
    STREAM_HEADS,
    STREAM_RECORDS,
    STREAM_ITEMS,
    STREAM_AUTHORS,
    STREAM_TIMES,
    STREAM_LAMPORTS,
    STREAM_TEXTS,
    STREAM_EDGES,
    STREAM_SALTS,
    STREAM_TAGS, /* since version 2 */
    STREAM_COUNT
};

/* An entry's byte in HEADS: its kind and these. */
enum {
    HEAD_KIND = 0x07,
    HEAD_ERASED = 0x08,
    HEAD_REASON = 0x10,
    HEAD_EDGES = 0x20,
    HEAD_SALT = 0x40,       /* does not follow from a seed: stands in SALTS */
    HEAD_SAME_AUTHOR = 0x80 /* as the entry before */
};

#endif
