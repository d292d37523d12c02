#include "output/ascii.h"
#include "base/text.h"
#include "base/utf8.h"
#include <string.h>

/* Every character of `from` is written as `to`. A leading blank in `to` is left out where a blank,
 * or nothing, stands before it. */
static const struct plain {
    const char *from, *to;
} plains[] = {
    {"\u00b0\u02da", " deg"}, /* degree sign, ring above */
    {"\u2103", " degC"},
    {"\u2109", " degF"},
    {"\u00b5\u03bc", "mc"}, /* micro sign, Greek mu */
    {"±", "+/-"},
    {"×", "x"},
    {"÷⁄", "/"},
    {"·⋅∙", "."},
    {"≤⩽", "<="},
    {"≥⩾", ">="},
    {"≠", "!="},
    {"≈∼", "~"},
    {"²", "^2"}, /* "10²" must not become "102" */
    {"³", "^3"},
    {"¹", "^1"},
    {"½", " 1/2"}, /* "9½" must not become "91/2" */
    {"¼", " 1/4"},
    {"¾", " 3/4"},
    {"⅓", " 1/3"},
    {"⅔", " 2/3"},
    {"⅛", " 1/8"},
    {"⅜", " 3/8"},
    {"⅝", " 5/8"},
    {"⅞", " 7/8"},
    {"\u2010\u2011\u2012\u2013\u2212\u00ad", "-"}, /* hyphens, en dash, minus */
    {"\u2014\u2015", "--"},
    {"\u2018\u2019\u201a\u201b\u2032\u00b4\u02bc", "'"},
    {"\u201c\u201d\u201e\u201f\u2033", "\""},
    {"«", "<<"},
    {"»", ">>"},
    {"‹", "<"},
    {"›", ">"},
    {"…", "..."},
    {"•‣▪●■", "*"},
    {"☐", "[ ]"},
    {"☑☒", "[x]"},
    {"→", "->"},
    {"←", "<-"},
    {"€", "EUR "},
    {"£", "GBP "},
    {"№", "No. "},
    {"©", "(c)"},
    {"®", "(R)"},
    {"¿", "?"},
    {"¡", "!"},
    {"\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u3000", " "},
    {"─━═", "-"},
    {"│┃║", "|"},
    {"┌┐└┘├┤┬┴┼╔╗╚╝", "+"},
    {"ÀÁÂÃĀĂĄǍȦẢẠ", "A"},
    {"àáâãāăąǎȧảạ", "a"},
    {"ÄÅ", "A"},
    {"äå", "a"},
    {"ÆǼ", "AE"},
    {"æǽ", "ae"},
    {"ÇĆĈĊČ", "C"},
    {"çćĉċč", "c"},
    {"ĎĐÐ", "D"},
    {"ďđð", "d"},
    {"ÈÉÊËĒĔĖĘĚẸẼ", "E"},
    {"èéêëēĕėęěẹẽ", "e"},
    {"ĜĞĠĢ", "G"},
    {"ĝğġģ", "g"},
    {"ĤĦ", "H"},
    {"ĥħ", "h"},
    {"ÌÍÎÏĨĪĬĮİ", "I"},
    {"ìíîïĩīĭįı", "i"},
    {"Ĵ", "J"},
    {"ĵ", "j"},
    {"Ķ", "K"},
    {"ķ", "k"},
    {"ĹĻĽĿŁ", "L"},
    {"ĺļľŀł", "l"},
    {"ÑŃŅŇ", "N"},
    {"ñńņň", "n"},
    {"ÒÓÔÕÖØŌŎŐƠ", "O"},
    {"òóôõöøōŏőơ", "o"},
    {"Œ", "OE"},
    {"œ", "oe"},
    {"ŔŖŘ", "R"},
    {"ŕŗř", "r"},
    {"ŚŜŞŠȘ", "S"},
    {"śŝşšș", "s"},
    {"ß", "ss"},
    {"ŢŤŦȚ", "T"},
    {"ţťŧț", "t"},
    {"Þ", "Th"},
    {"þ", "th"},
    {"ÙÚÛÜŨŪŬŮŰŲƯ", "U"},
    {"ùúûüũūŭůűųư", "u"},
    {"Ŵ", "W"},
    {"ŵ", "w"},
    {"ÝŶŸ", "Y"},
    {"ýŷÿ", "y"},
    {"ŹŻŽ", "Z"},
    {"źżž", "z"},
};

/* `c`, `n` bytes long, is one character: does `all` hold it? UTF-8 never matches inside another. */
static const char *plain_for(const char *c, size_t n)
{
    for (size_t i = 0; i < sizeof plains / sizeof plains[0]; i++)
        if (memmem(plains[i].from, strlen(plains[i].from), c, n))
            return plains[i].to;
    return NULL;
}

size_t ascii_map(struct text *out, const char *s)
{
    size_t unmapped = 0;
    size_t left = strlen(s);
    while (left > 0) {
        uint32_t cp = 0;
        int n = utf8_decode(s, left, &cp);
        size_t step = n > 0 ? (size_t)n : 1;
        const char *to = step > 1 ? plain_for(s, step) : NULL;
        if (step == 1 && n > 0) {
            text_addn(out, s, 1);
        } else if (to) {
            bool blank_before = out->len == 0 || strchr(" \n", out->s[out->len - 1]);
            text_add(out, *to == ' ' && to[1] && blank_before ? to + 1 : to);
        } else if (n < 0 || utf8_cp_width(cp) > 0) { /* an accent on its own falls away */
            text_addc(out, '?');
            unmapped++;
        }
        s += step;
        left -= step;
    }
    return unmapped;
}
