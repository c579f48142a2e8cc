#include "console/reading/shorthand.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace stonecall::reading {
namespace {

struct Short {
  std::string_view word;
  std::string_view full;
};

// Sorted.
constexpr std::array<Short, 83> short_words{
    {{"abt", "about"},         {"aft", "after"},         {"ang", "angular"},
     {"apprx", "approx"},      {"arr", "arrived"},       {"arrd", "arrived"},
     {"bagd", "bagged"},       {"bec", "because"},       {"bldr", "boulder"},
     {"bldrs", "boulders"},    {"blk", "black"},         {"brn", "brown"},
     {"bur", "buried"},        {"burd", "buried"},       {"cd", "could"},
     {"cob", "cobble"},        {"cobs", "cobbles"},      {"cor", "correction"},
     {"corr", "correction"},   {"cpl", "couple"},        {"deg", "degrees"},
     {"degs", "degrees"},      {"dep", "departing"},     {"dept", "departing"},
     {"diam", "diameter"},     {"dk", "dark"},           {"dn", "down"},
     {"doz", "dozen"},         {"ds", "downsun"},        {"ea", "each"},
     {"frag", "fragment"},     {"frags", "fragments"},   {"gnd", "ground"},
     {"grd", "ground"},        {"grn", "green"},         {"gry", "grey"},
     {"incl", "including"},    {"lg", "long"},           {"lv", "leaving"},
     {"lvg", "leaving"},       {"lvs", "leaving"},       {"min", "minutes"},
     {"mins", "minutes"},      {"nr", "number"},         {"num", "number"},
     {"occ", "occasional"},    {"pc", "piece"},          {"pcs", "pieces"},
     {"peb", "pebble"},        {"pebs", "pebbles"},      {"pls", "please"},
     {"poss", "possibly"},     {"prob", "probably"},     {"rgr", "roger"},
     {"rnd", "rounded"},       {"rnded", "rounded"},     {"samp", "sample"},
     {"sbang", "subangular"},  {"sbrnd", "subrounded"},  {"shd", "should"},
     {"smp", "sample"},        {"smpl", "sample"},       {"smpld", "sampled"},
     {"smpls", "samples"},     {"smps", "samples"},      {"spl", "sample"},
     {"ster", "stereo"},       {"stn", "station"},       {"str", "stereo"},
     {"subang", "subangular"}, {"subrnd", "subrounded"}, {"subrnded", "subrounded"},
     {"surf", "surface"},      {"sz", "size"},           {"thk", "thick"},
     {"unk", "unknown"},       {"unkn", "unknown"},      {"wd", "would"},
     {"wht", "white"},         {"xsun", "crossun"},      {"yday", "yesterday"},
     {"yel", "yellow"},        {"yest", "yesterday"}}};

// Sorted.
constexpr std::array<Short, 24> rock_codes{
    {{"amph", "amphibolite"}, {"bas", "basalt"},         {"cgl", "conglomerate"},
     {"cht", "chert"},        {"congl", "conglomerate"}, {"gdr", "granodiorite"},
     {"gns", "gneiss"},       {"grdr", "granodiorite"},  {"hfl", "hornfels"},
     {"hfls", "hornfels"},    {"lmst", "limestone"},     {"lst", "limestone"},
     {"mbl", "marble"},       {"mdst", "mudstone"},      {"mst", "mudstone"},
     {"peg", "pegmatite"},    {"qtz", "quartz"},         {"qtzt", "quartzite"},
     {"qz", "quartz"},        {"serp", "serpentinite"},  {"slst", "siltstone"},
     {"sltst", "siltstone"},  {"ss", "sandstone"},       {"sst", "sandstone"}}};

static_assert(std::ranges::is_sorted(short_words, {}, &Short::word));
static_assert(std::ranges::is_sorted(rock_codes, {}, &Short::word));

template <class Table>
std::string_view full_form(const Table& table, std::string_view word) {
  const auto found = std::ranges::lower_bound(table, word, {}, &Short::word);
  return found == table.end() || found->word != word ? std::string_view() : found->full;
}

bool vowel_letter(char c) {
  return c == 'a' || c == 'e' || c == 'i' || c == 'o' || c == 'u';
}

/// Whether the letters of `word` stand in `full` in their order. `vowels_only`: nothing but vowels,
/// and one of two like consonants, is passed over on the way.
bool letters_within(std::string_view word, std::string_view full, bool vowels_only) {
  std::size_t at = 0;
  for (std::size_t i = 0; i < full.size(); ++i) {
    if (at < word.size() && word[at] == full[i]) {
      ++at;
      continue;
    }
    const bool doubled = i > 0 && full[i] == full[i - 1];
    if (vowels_only && !vowel_letter(full[i]) && !doubled) return false;
  }
  return at == word.size();
}

}  // namespace

std::string_view written_in_full(std::string_view word) {
  return word.size() > 8 ? std::string_view() : full_form(short_words, word);
}

std::string_view rock_of_code(std::string_view code) {
  return code.size() > 5 ? std::string_view() : full_form(rock_codes, code);
}

bool abbreviates(std::string_view word, std::string_view full) {
  if (word.size() < 3 || word.size() + 1 > full.size() || word.front() != full.front())
    return false;
  if (letters_within(word, full, true)) return true;
  // "qtzite", "grdiorite": its beginning is squeezed, its end is whole
  const bool most = word.size() >= 5 && 5 * word.size() >= 3 * full.size() &&
                    word.substr(word.size() - 2) == full.substr(full.size() - 2);
  if (most && letters_within(word, full, false)) return true;
  const bool bare = std::ranges::none_of(word, vowel_letter);
  std::string_view stem = full;
  while (stem.size() > 1 && vowel_letter(stem.back())) stem.remove_suffix(1);
  return bare && word.size() >= 4 && word.back() == stem.back() &&
         letters_within(word, full, false);
}

}  // namespace stonecall::reading
