#include "console/reading/matcher.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <map>
#include <set>

#include "console/reading/misheard.hpp"
#include "console/reading/own_words.hpp"
#include "console/reading/rock_names.hpp"
#include "console/reading/shorthand.hpp"
#include "console/reading/spelling.hpp"

namespace stonecall::reading {
namespace {

constexpr std::size_t longest_phrase = 7;

std::vector<std::string> words_of(std::string_view phrase) {
  std::vector<std::string> words;
  for (Token& token : tokenise(phrase)) {
    if (token.kind != Token::Kind::mark) words.push_back(std::move(token.text));
  }
  return words;
}

std::string joined(std::span<const std::string> words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

/// Last words of spoken names that are no kind of rock by themselves.
bool is_plain_noun(std::string_view word) {
  static constexpr std::array<std::string_view, 40> plain{
      "rock",   "rocks",  "stone",   "stones", "block",  "blocks", "stuff",   "material",
      "pebble", "cobble", "boulder", "lava",   "flow",   "ash",    "sand",    "mud",
      "layer",  "vein",   "band",    "crust",  "one",    "thing",  "dyke",    "dike",
      "bed",    "float",  "clast",   "lump",   "piece",  "chunk",  "crystal", "bits",
      "bit",    "gravel", "soil",    "clay",   "ground", "colour", "color",   "mineral"};
  return std::find(plain.begin(), plain.end(), word) != plain.end();
}

/// Modifiers that any rock may have, so that alone they name no kind.
bool is_plain_modifier(std::string_view word) {
  static constexpr std::array<std::string_view, 38> plain{
      "red",    "white", "black", "blue",   "green", "yellow", "grey",   "gray", "pink", "brown",
      "purple", "dark",  "pale",  "light",  "big",   "small",  "little", "hard", "soft", "old",
      "young",  "fresh", "fine",  "coarse", "flat",  "the",    "of",     "a",    "and",  "rock",
      "stone",  "in",    "with",  "orange", "cream", "round",  "shiny",  "rusty"};
  return std::find(plain.begin(), plain.end(), word) != plain.end();
}

/// "station five" must not make a place of each "five".
bool is_counting_word(std::string_view word) {
  static constexpr std::array<std::string_view, 36> counting{
      "one",       "two",      "three",    "four",   "five",     "six",      "seven",   "eight",
      "nine",      "ten",      "eleven",   "twelve", "stop",     "station",  "site",    "number",
      "point",     "waypoint", "zero",     "niner",  "thirteen", "fourteen", "fifteen", "sixteen",
      "seventeen", "eighteen", "nineteen", "twenty", "thirty",   "forty",    "fifty",   "sixty",
      "seventy",   "eighty",   "ninety",   "hundred"};
  return std::find(counting.begin(), counting.end(), word) != counting.end();
}

/// What a plural may be of: "basalts", "breccias", "boxes".
std::vector<std::string_view> singulars(std::string_view word) {
  std::vector<std::string_view> forms;
  if (word.size() > 3 && word.ends_with("s") && !word.ends_with("ss"))
    forms.push_back(word.substr(0, word.size() - 1));
  if (word.size() > 4 && word.ends_with("es")) forms.push_back(word.substr(0, word.size() - 2));
  if (word.size() > 4 && word.ends_with("'s")) forms.push_back(word.substr(0, word.size() - 2));
  return forms;
}

/// The other forms of a phrase with a contraction in it or with words that contract: "that's it
/// for" is "that is it for" as well.
std::vector<std::string> with_and_without_contraction(std::string_view phrase) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 33> forms{
      {{"we're", "we are"},       {"you're", "you are"},   {"they're", "they are"},
       {"i'm", "i am"},           {"that's", "that is"},   {"it's", "it is"},
       {"there's", "there is"},   {"here's", "here is"},   {"what's", "what is"},
       {"who's", "who is"},       {"where's", "where is"}, {"we've", "we have"},
       {"i've", "i have"},        {"you've", "you have"},  {"they've", "they have"},
       {"i'd", "i would"},        {"we'd", "we would"},    {"i'll", "i will"},
       {"we'll", "we will"},      {"can't", "cannot"},     {"can't", "can not"},
       {"don't", "do not"},       {"doesn't", "does not"}, {"didn't", "did not"},
       {"isn't", "is not"},       {"aren't", "are not"},   {"wasn't", "was not"},
       {"weren't", "were not"},   {"haven't", "have not"}, {"hasn't", "has not"},
       {"couldn't", "could not"}, {"won't", "will not"},   {"wouldn't", "would not"}}};
  std::vector<std::string> others;
  const std::string padded = " " + std::string(phrase) + " ";
  static constexpr std::array<std::string_view, 8> may_contract{
      " are ", " is ", " have ", " am ", " would ", " will ", " not ", "cannot"};
  const bool full = std::ranges::any_of(
      may_contract, [&](std::string_view word) { return padded.find(word) != std::string::npos; });
  if (!full && phrase.find('\'') == std::string_view::npos) return others;
  const auto replaced = [&](std::string_view from, std::string_view to) {
    const std::string sought = " " + std::string(from) + " ";
    const std::size_t at = padded.find(sought);
    if (at == std::string::npos) return;
    std::string other = padded;
    other.replace(at + 1, from.size(), to);
    others.push_back(other.substr(1, other.size() - 2));
  };
  for (const auto& [contracted, full] : forms) {
    replaced(contracted, full);
    replaced(full, contracted);
  }
  return others;
}

/// "Lying on surface": a phrase of three words or more as those say it who leave articles out.
/// Empty: it has none within.
std::string without_article(std::string_view phrase) {
  for (const std::string_view article : {" the ", " a ", " an "}) {
    const std::size_t at = phrase.find(article);
    if (at == std::string_view::npos) continue;
    std::string other(phrase.substr(0, at));
    return other += phrase.substr(at + article.size() - 1);
  }
  return {};
}

}  // namespace

Matcher::Matcher(const Vocabulary& vocabulary) : meaning_of_{-1} {
  add_phrases();
  add_rocks(vocabulary);
  const auto first_alike = static_cast<WordId>(words_.size());
  add_sound_alikes();
  alikes_ = {first_alike, static_cast<WordId>(words_.size())};
  add_sounds();
  add_stations(vocabulary);

  spelling_.resize(26);
  std::set<std::string> worth(trade_words().begin(), trade_words().end());
  for (const std::string& word : team_words_) {
    if (word.size() >= 5) worth.insert(word);
  }
  for (const BuiltInRock& rock : built_in_rocks()) {
    for (const std::string& word : words_of(rock.name)) {
      if (word.size() >= 6) worth.insert(word);
    }
  }
  for (const std::string& word : worth) {
    names_.add(word, team_words_.contains(word) ? 0 : 3);
    intern(word);  // a right word is not mended into its neighbour: "eighty" is no "eight"
    if (word[0] >= 'a' && word[0] <= 'z')
      spelling_[static_cast<std::size_t>(word[0] - 'a')].push_back(word);
  }
}

Matcher::WordId Matcher::intern(std::string_view word) {
  const auto id = static_cast<WordId>(words_.size());
  return words_.try_emplace(std::string(word), id).first->second;
}

std::optional<Matcher::WordId> Matcher::known(std::string_view word) const {
  const auto found = words_.find(word);
  return found == words_.end() ? std::nullopt : std::optional(found->second);
}

void Matcher::add(std::string_view phrase, const Meaning& meaning, bool replace) {
  const std::vector<std::string> words = words_of(phrase);
  if (words.empty() || words.size() > longest_phrase) return;
  std::uint32_t node = 0;
  for (const std::string& word : words) {
    const std::uint64_t edge = (std::uint64_t{node} << 32) | intern(word);
    const auto next = static_cast<std::uint32_t>(meaning_of_.size());
    const auto [found, added] = edges_.try_emplace(edge, next);
    if (added) meaning_of_.push_back(-1);
    node = found->second;
  }
  std::int32_t& slot = meaning_of_[node];
  if (slot >= 0 && !replace) return;
  slot = static_cast<std::int32_t>(meanings_.size());
  meanings_.push_back(meaning);
}

void Matcher::add_phrases() {
  const auto meaning_of = [](const Phrase& phrase) {
    return Meaning{Meaning::Kind::sense, phrase.sense, phrase.low, phrase.high, 0};
  };
  for (const Phrase& phrase : phrases()) add(phrase.words, meaning_of(phrase), true);
  // "we are at" where the table has "we're at", and the other way round; "on surface"; "that one's"
  static const auto others = [] {
    std::vector<std::pair<std::string, const Phrase*>> forms;
    for (const Phrase& phrase : phrases()) {
      for (std::string& other : with_and_without_contraction(phrase.words))
        forms.emplace_back(std::move(other), &phrase);
      if (std::string other = without_article(phrase.words); !other.empty())
        forms.emplace_back(std::move(other), &phrase);
      if (phrase.sense == Sense::one && phrase.words.ends_with(" one"))
        forms.emplace_back(std::string(phrase.words) + "'s", &phrase);
    }
    return forms;
  }();
  for (const auto& [other, phrase] : others) add(other, meaning_of(*phrase), false);
}

void Matcher::add_rock_names(std::size_t index,
                             const std::vector<std::vector<std::string>>& names) {
  const Meaning meaning{Meaning::Kind::rock, Sense::none, 0, 0, index};
  const bool planned = rocks_[index].planned;
  for (const auto& name : names) {
    add(joined(name), meaning, planned);
    if (planned) add(joined(name) + "s", meaning, true);  // "marbles" are no size there
    // "basalt vesicular", as people say when they think while speaking.
    if (planned && name.size() == 2) add(name[1] + " " + name[0], meaning, false);
    if (planned) team_words_.insert(name.begin(), name.end());
    // "spotty rock" is "the spotty stone" in the next mouth.
    if (planned && name.size() > 1) {
      static constexpr std::array<std::string_view, 3> nouns{"rock", "stone", "stuff"};
      if (std::ranges::find(nouns, name.back()) == nouns.end()) continue;
      for (const std::string_view noun : nouns)
        add(joined(std::span(name).first(name.size() - 1)) + " " + std::string(noun), meaning,
            false);
    }
  }
}

void Matcher::add_rocks(const Vocabulary& vocabulary) {
  std::vector<std::vector<std::vector<std::string>>> all;
  const auto take = [&](const std::string& name, bool planned,
                        const std::vector<std::string>& spoken) {
    std::vector<std::vector<std::string>> names{words_of(name)};
    if (names[0].empty()) return;
    for (const std::string& other : spoken) {
      if (auto words = words_of(other); !words.empty()) names.push_back(std::move(words));
    }
    rocks_.push_back({name, planned});
    heads_.push_back(names[0].back());
    all.push_back(std::move(names));
  };
  for (const Named& rock : vocabulary.rocks) take(rock.name, true, rock.spoken);
  const std::size_t planned = rocks_.size();
  for (const BuiltInRock& rock : built_in_rocks()) {
    std::vector<std::string> spoken;
    for (std::string_view rest = rock.spoken; !rest.empty();) {
      const std::size_t bar = std::min(rest.find('|'), rest.size());
      spoken.emplace_back(rest.substr(0, bar));
      rest.remove_prefix(std::min(bar + 1, rest.size()));
    }
    take(std::string(rock.name), planned == 0, spoken);
  }
  for (std::size_t i = 0; i < all.size(); ++i) add_rock_names(i, all[i]);

  // Words of spoken names that belong to one planned kind alone stand for it.
  std::map<std::string, std::set<std::size_t>> by_head;
  std::map<std::string, std::set<std::size_t>> by_modifier;
  for (std::size_t i = 0; i < (planned ? planned : all.size()); ++i) {
    for (const auto& name : all[i]) {
      by_head[name.back()].insert(i);
      for (std::size_t w = 0; w + 1 < name.size(); ++w) by_modifier[name[w]].insert(i);
    }
  }
  if (planned == 0) return;
  for (const auto& [head, of] : by_head) {
    if (of.size() != 1 || is_plain_noun(head) || is_plain_modifier(head)) continue;
    add(head, {Meaning::Kind::rock_head, Sense::none, 0, 0, *of.begin()}, true);
  }
  for (const auto& [word, of] : by_modifier) {
    if (of.size() != 1 || is_plain_modifier(word) || is_plain_noun(word) || by_head.contains(word))
      continue;
    add(word, {Meaning::Kind::rock_modifier, Sense::none, 0, 0, *of.begin()}, true);
  }
  for (std::size_t i = 0; i < planned; ++i) {  // full names win over their parts
    for (const auto& name : all[i])
      add(joined(name), {Meaning::Kind::rock, Sense::none, 0, 0, i}, true);
  }
}

void Matcher::add_stations(const Vocabulary& vocabulary) {
  std::map<std::string, std::set<std::size_t>> parts;
  std::vector<std::pair<std::string, std::size_t>> names;
  for (const Named& station : vocabulary.stations) {
    const std::size_t index = stations_.size();
    stations_.push_back(station.name);
    names.emplace_back(station.name, index);
    for (const std::string& spoken : station.spoken) names.emplace_back(spoken, index);
  }
  for (const auto& [name, index] : names) {
    std::vector<std::string> words = words_of(name);
    const Meaning meaning{Meaning::Kind::station, Sense::none, 0, 0, index};
    add(name, meaning, true);
    if (words.size() > 1 && words[0] == "the") {
      words.erase(words.begin());
      if (words.size() > 1) add(joined(words), meaning, false);
    }
    for (const std::string& word : words) {
      team_words_.insert(word);
      if (word.size() >= 3 && !is_plain_modifier(word) && !is_counting_word(word))
        parts[word].insert(index);
    }
  }
  for (const auto& [word, of] : parts) {
    if (of.size() == 1)
      add(word, {Meaning::Kind::station_part, Sense::none, 0, 0, *of.begin()}, false);
  }
}

void Matcher::add_sound_alikes() {
  const std::size_t first_unplanned =
      static_cast<std::size_t>(std::find_if(rocks_.begin(), rocks_.end(),
                                            [](const KnownRock& rock) { return !rock.planned; }) -
                               rocks_.begin());
  for (const SoundsLike& alike : sound_alikes()) {
    std::vector<Token> tokens = tokenise(alike.word);
    const Match match = longest(tokens, 0);
    if (!match.meaning || match.tokens != tokens.size()) continue;
    if (match.meaning->kind != Meaning::Kind::rock &&
        match.meaning->kind != Meaning::Kind::rock_head)
      continue;
    // Of kinds that the plan does not list, ordinary words are not suspected.
    if (match.meaning->index >= first_unplanned && first_unplanned > 0) continue;
    add(alike.heard, Meaning(*match.meaning), false);
  }
}

namespace {

/// Fewer consonants agree with too much: "dacite" and "does it".
constexpr std::size_t enough_consonants = 4;
/// So many that the words need not end like the name of a rock.
constexpr std::size_t many_consonants = 6;

/// What recognisers write for the end of "-ite", "-stone" and the like.
bool ends_like_a_rock(std::string_view word) {
  static constexpr std::array<std::string_view, 8> endings{"ite",   "ight",  "eight", "yte",
                                                           "stone", "fells", "crete", "teen"};
  if (word == "write" || word == "highlight") return false;  // words of the office
  return std::any_of(endings.begin(), endings.end(),
                     [&](std::string_view ending) { return word.ends_with(ending); });
}

}  // namespace

void Matcher::add_sounds() {
  for (const SoundsLike& alike : everyday_alikes()) {
    const std::vector<Token> tokens = tokenise(alike.word);
    const Match match = longest(tokens, 0);
    if (match.meaning && match.tokens == tokens.size() &&
        (match.meaning->kind == Meaning::Kind::rock ||
         match.meaning->kind == Meaning::Kind::rock_head) &&
        rocks_[match.meaning->index].planned)
      everyday_.emplace_back(alike.heard, *match.meaning);
  }
  for (const std::string& word : team_words_) {
    std::string sounds = consonants(word);
    if (word.size() >= 6 && sounds.size() + 1 >= enough_consonants)
      by_sound_.emplace(std::move(sounds), word);
  }
}

/// "lure so light" for "lherzolite": two to four words, or an unknown one, that sound like the name
/// of a kind. Puts the name in place of the first and empties the others.
bool Matcher::mend_by_sound(std::vector<Token>& tokens, std::size_t at) const {
  constexpr std::size_t most_words = 4;
  constexpr std::size_t longest_name = 24;
  std::string letters;
  for (std::size_t count = 1; count <= most_words && at + count <= tokens.size(); ++count) {
    const Token& last = tokens[at + count - 1];
    if (last.kind != Token::Kind::word || last.text.empty()) return false;
    // Names and phrases that are known stand as they are: "we are on station" is no ironstone.
    const Match plain = longest(tokens, at + count - 1);
    if (plain.tokens > 1 || (plain.meaning && plain.meaning->kind != Meaning::Kind::sense))
      return false;
    letters += last.text;
    if (letters.size() > longest_name) return false;
    const bool one_unknown =
        count == 1 && letters.size() >= 6 && !known(letters) &&
        !std::binary_search(look_alikes().begin(), look_alikes().end(), std::string_view(letters));
    if (letters.size() < 6 || (count == 1 && !one_unknown)) continue;
    // "granit" is granite, though garnet sounds as like
    if (count == 1 && !names_.nearest(letters).word.empty()) continue;
    const std::string sounds = consonants(letters);
    // "an hydrite": the very letters
    const bool same_letters = count > 1 && team_words_.contains(letters);
    const bool short_name = (count == 2 || count == 3) && sounds.size() + 1 == enough_consonants;
    if (sounds.size() < enough_consonants && !short_name) continue;
    if (count > 1 && sounds.size() < many_consonants && !same_letters &&
        !ends_like_a_rock(last.text))
      continue;
    const auto [first, beyond] = by_sound_.equal_range(sounds);
    for (auto name = first; name != beyond; ++name) {
      const std::string& word = name->second;
      if (std::abs(vowel_groups(letters) - vowel_groups(word)) > (count > 1 && !short_name ? 1 : 0))
        continue;
      if (letters.size() > word.size() + 4 || word.size() > letters.size() + 4) continue;
      tokens[at].text = word;
      tokens[at].words.end = last.words.end;
      for (std::size_t i = at + 1; i < at + count; ++i) tokens[i].text.clear();
      return true;
    }
  }
  return false;
}

/// "smpl", "chlk", "congl.": a word that is written short. Puts the whole of it in its place.
bool Matcher::write_in_full(std::vector<Token>& tokens, std::size_t at) const {
  Token& token = tokens[at];
  const std::string& word = token.text;
  const auto next = [&](Token::Kind kind) {
    return at + 1 < tokens.size() && tokens[at + 1].kind == kind;
  };
  // A full stop behind it ends no sentence.
  const auto put = [&](std::string_view full) {
    token.text = full;
    const bool goes_on = at + 2 < tokens.size() && tokens[at + 2].kind != Token::Kind::mark;
    if (next(Token::Kind::mark) && tokens[at + 1].text == "." && goes_on)
      tokens[at + 1].text.clear();
    return true;
  };
  // "pair y, ds n": yes and no behind a picture
  const bool ticked = word == "y" || word == "n";
  if (ticked && at > 0 && (at + 1 == tokens.size() || next(Token::Kind::mark))) {
    static constexpr std::array<std::string_view, 6> pictures{"pair",    "stereo", "sun",
                                                              "downsun", "after",  "crossun"};
    if (std::ranges::find(pictures, tokens[at - 1].text) == pictures.end()) return false;
    token.text = word == "y" ? "yes" : "no";
    return true;
  }
  if (word.size() < 2) return false;
  // "eclog", "gran": known as a piece of what is misheard, "eclog ite", alone it is no word.
  const auto id = known(word);
  const bool piece = id && *id >= alikes_.first && *id < alikes_.second;
  if (id && !piece) return false;
  if (const std::string_view full = written_in_full(word); !full.empty()) {
    const bool of_strike = full == "stereo" && next(Token::Kind::digits);  // "str 045"
    if (!of_strike) return put(full);
  }
  if (const std::string_view rock = rock_of_code(word); !rock.empty()) {
    const auto named = team_words_.find(rock);
    if (named != team_words_.end()) return put(*named);
  }
  if (word.size() < 3 || word.size() > 16 || word[0] < 'a' || word[0] > 'z') return false;
  const auto common = look_alikes();
  if (std::binary_search(common.begin(), common.end(), std::string_view(word))) return false;
  // One and no other, the team's words first: "gran" may be granite or granodiorite.
  std::array<const std::string*, 2> found{};
  std::array<int, 2> count{};
  const bool stop = next(Token::Kind::mark) && tokens[at + 1].text == ".";
  for (const std::string& full : spelling_[static_cast<std::size_t>(word[0] - 'a')]) {
    if (full.size() < word.size() + 2) {
      // "grnite": misspelt, not "granulite"
      if (near(word, full, 1) && team_words_.contains(full)) return false;
      continue;
    }
    const bool begins = word.size() >= (stop ? 4u : 5u) && full.starts_with(word);
    if (!begins && (piece || !abbreviates(word, full))) continue;
    const bool team = team_words_.contains(full);
    if (begins && !team && (piece || !abbreviates(word, full))) continue;
    found[team ? 0 : 1] = &full;
    ++count[team ? 0 : 1];
  }
  const std::size_t of = count[0] > 0 ? 0 : 1;
  return count[of] == 1 && put(*found[of]);
}

const Meaning* Matcher::everyday_word(std::string_view word) const {
  const auto found = std::find_if(everyday_.begin(), everyday_.end(),
                                  [&](const auto& entry) { return entry.first == word; });
  return found == everyday_.end() ? nullptr : &found->second;
}

void Matcher::step(std::span<const Token> tokens, std::size_t at, std::size_t depth,
                   std::uint32_t node, Match& best) const {
  if (at + depth >= tokens.size() || depth >= longest_phrase) return;
  const Token& token = tokens[at + depth];
  if (token.kind == Token::Kind::mark) return;
  const auto follow = [&](std::string_view form) {
    const auto id = known(form);
    if (!id) return;
    const auto edge = edges_.find((std::uint64_t{node} << 32) | *id);
    if (edge == edges_.end()) return;
    const std::int32_t meaning = meaning_of_[edge->second];
    if (meaning >= 0 && depth + 1 > best.tokens) {
      best = {&meanings_[static_cast<std::size_t>(meaning)], depth + 1};
    }
    step(tokens, at, depth + 1, edge->second, best);
  };
  follow(token.text);
  for (const std::string_view form : singulars(token.text)) follow(form);
}

Matcher::Match Matcher::longest(std::span<const Token> tokens, std::size_t at) const {
  Match best;
  step(tokens, at, 0, 0, best);
  return best;
}

/// The known word that `word` was to be, or itself.
std::string Matcher::put_right(const std::string& word) const {
  const NearWords::Found own = own_words().nearest(word);
  const NearWords::Found named = names_.nearest(word);
  if (own.word == word || named.word == word) return word;
  const bool of_names = !named.word.empty() && (own.word.empty() || named.cost < own.cost);
  if (of_names || !own.word.empty()) return std::string(of_names ? named.word : own.word);
  constexpr std::size_t long_word = 9;
  const auto& candidates = spelling_[static_cast<std::size_t>(word[0] - 'a')];
  const auto right = std::ranges::find_if(candidates, [&](const std::string& candidate) {
    return candidate.size() >= long_word && near(word, candidate, 2);
  });
  return right == candidates.end() ? word : *right;
}

/// "stero's", "coudn't" as well.
std::string Matcher::put_right_with_apostrophe(const std::string& word) const {
  const std::size_t apostrophe = word.find('\'');
  if (apostrophe == std::string::npos) return put_right(word);
  if (word.ends_with("'s")) {
    const std::string stem = word.substr(0, apostrophe);
    const auto common = look_alikes();
    const bool other = stem.size() < 5 || known(stem) ||
                       std::binary_search(common.begin(), common.end(), std::string_view(stem));
    return other ? word : put_right(stem) + "'s";
  }
  static constexpr auto contractions =
      std::to_array<std::string_view>({"couldn't", "wouldn't", "shouldn't", "haven't", "hasn't",
                                       "didn't", "doesn't", "wasn't", "weren't", "aren't"});
  const auto meant = std::ranges::find_if(contractions, [&](std::string_view full) {
    return word.front() == full.front() && slip_between(word, full) != Slip::none &&
           slip_between(word, full) != Slip::changed;
  });
  return meant == contractions.end() ? word : std::string(*meant);
}

void Matcher::mend_spelling(std::vector<Token>& tokens) const {
  restore_apostrophes(tokens);
  restore_homophones(tokens, [&](std::size_t at) {
    const Match match = longest(tokens, at);
    return match.meaning && (match.meaning->kind == Meaning::Kind::rock ||
                             match.meaning->kind == Meaning::Kind::rock_head);
  });
  int tried = 0;
  const auto common = look_alikes();
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    Token& token = tokens[i];
    if (token.kind != Token::Kind::word) continue;
    if (token.text.empty()) continue;  // part of the word before
    const std::string& word = token.text;
    if (const Match plain = longest(tokens, i); plain.tokens > 1) {
      i += plain.tokens - 1;
      continue;
    }
    // "sam sample": broken off and begun again
    const bool per_percent =
        word == "per" && i + 1 < tokens.size() && tokens[i + 1].text == "percent";
    if (per_percent) {
      token.text.clear();
      continue;
    }
    if (i + 1 < tokens.size() && word.size() >= 2 && tokens[i + 1].text.size() > word.size() &&
        tokens[i + 1].text.starts_with(word) && !known(word) &&
        !std::binary_search(common.begin(), common.end(), std::string_view(word))) {
      token.text.clear();
      continue;
    }
    if (write_in_full(tokens, i)) continue;
    if (mend_by_sound(tokens, i)) continue;
    if (known(word)) continue;
    // "lime stone": two words that make one we know.
    if (i + 1 < tokens.size() && tokens[i + 1].kind == Token::Kind::word &&
        word.size() + tokens[i + 1].text.size() >= 6) {
      const std::string both = word + tokens[i + 1].text;
      if (team_words_.contains(both) && known(both)) {
        token.text = both;
        token.words.end = tokens[i + 1].words.end;
        tokens[++i].text.clear();
        continue;
      }
    }
    if (word.size() < 4 || word.size() > 20 || word[0] < 'a' || word[0] > 'z') continue;
    if (std::binary_search(common.begin(), common.end(), std::string_view(word))) continue;
    bool plural = false;
    for (const std::string_view form : singulars(word)) plural = plural || known(form);
    if (plural || ++tried > 64) continue;
    token.text = put_right_with_apostrophe(word);
  }
  std::erase_if(tokens, [](const Token& token) { return token.text.empty(); });
}

}  // namespace stonecall::reading
