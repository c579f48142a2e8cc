#pragma once

#include <cstddef>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "console/reading/fact.hpp"
#include "console/reading/lexicon.hpp"
#include "console/reading/matcher.hpp"
#include "console/reading/reader.hpp"
#include "console/reading/words.hpp"

namespace stonecall::reading {

/// A word, phrase, number or name of a note, after the tokens have been matched.
struct Item {
  enum class Kind { outside, word, number, fraction, rock, station, station_part, mark };
  /// Why an item states nothing, although it was said.
  enum Mute : unsigned {
    replaced = 1,   ///< said wrong and put right in the same note
    guessed = 2,    ///< "might be"
    wished = 4,     ///< planned, wished, looked for
    asked = 8,      ///< inside a question
    recalled = 16,  ///< of another place or day
    gear = 32,      ///< of boots and batteries, not of the ground
    absent = 64,    ///< said not to be here
    denied = 128,   ///< "not basalt": of this one rock, not of the place
  };

  Kind kind = Kind::outside;
  Sense sense = Sense::none;
  std::string text;  ///< of a word its text in lower case; of a number its digits
  Words words;
  double low = 0;  ///< sense's first value; number: its value; fraction: 0–1
  double high = 0;
  std::size_t index = 0;    ///< rock or station
  bool weak = false;        ///< rock: only a part of its name was said; texture: taken for one
                            ///< from where it stands
  bool digit = false;       ///< number: a single spoken digit
  bool round_tens = false;  ///< number: 10, 20 … 90 or a teen, in words
  bool possessive = false;  ///< number: said with 's, "four twenty's the granite"
  unsigned mutes = 0;
  bool used = false;  ///< a recogniser has taken it; others leave it alone
  int sentence = 0;   ///< counted at . ? ! ;
  int clause = 0;     ///< counted at commas and "but" as well

  bool is(Sense s) const { return kind == Kind::word && sense == s; }
  bool is(std::string_view word) const { return kind == Kind::word && text == word; }
  bool any_of(std::initializer_list<std::string_view> words_) const {
    if (kind != Kind::word && kind != Kind::mark) return false;
    for (const std::string_view word : words_) {
      if (text == word) return true;
    }
    return false;
  }
  bool number() const { return kind == Kind::number; }
  bool rock() const { return kind == Kind::rock; }
  bool stated_rock() const { return rock() && mutes == 0; }
  bool mark() const { return kind == Kind::mark || kind == Kind::outside; }
  bool comma() const { return kind == Kind::mark && (text == "," || text == ":"); }
  bool stop() const {
    return kind == Kind::outside || (kind == Kind::mark && text != "," && text != ":");
  }
};

/// "sample nine", "bag forty", or a bare number that stands for a sample.
struct LabelSaid {
  enum class Of { sample, bag };
  Of of = Of::sample;
  std::string digits;
  std::ptrdiff_t first = 0;  ///< items, the naming word included
  std::ptrdiff_t last = 0;
  std::ptrdiff_t number = 0;  ///< first item of the number
  bool reference = false;     ///< "for sample six": says which, states nothing new
  bool bare = false;          ///< without the word "sample"
  bool denied = false;        ///< "not thirty"
  bool in_series = false;     ///< three digits or more, next to the numbers given last
};

/// A note while it is read: the recognisers below take items and add proposals.
struct Draft {
  const Matcher& matcher;
  const Context& context;
  std::vector<Item> items;
  std::vector<Proposal> proposals{};
  std::vector<LabelSaid> labels{};
  bool corrects = false;    ///< the note puts an earlier one right; it states nothing else
  bool new_sample = false;  ///< a sample has been picked up in it
  bool counts = false;      ///< it holds a count over kinds
  bool takes_photos = false;

  using At = std::ptrdiff_t;
  At size() const { return static_cast<At>(items.size()); }
  /// The item, or one of kind `outside` beyond either end.
  const Item& at(At i) const;
  Item& edit(At i);  ///< within the note
  /// The next or last item at or beyond i that is no filler word.
  At skip(At i, std::initializer_list<Sense> senses) const;

  const KnownRock& rock(const Item& item) const { return matcher.rocks()[item.index]; }
  Words words(At first, At last) const;
  void propose(Fact fact, At first, At last, double sureness);
  /// Takes back what was proposed of one sort: it is said again, and better, further on.
  template <class F>
  void withdraw() {
    std::erase_if(proposals,
                  [](const Proposal& said) { return std::holds_alternative<F>(said.fact); });
  }
  void use(At first, At last);
  void mute(At first, At last, Item::Mute why);
  At clause_begin(At i) const;
  At clause_end(At i) const;  ///< last item of the clause of i, its mark excluded
  At sentence_begin(At i) const;
  At sentence_end(At i) const;
  bool has_label(LabelSaid::Of of) const;
  template <class Predicate>
  bool any(At first, At last, Predicate is) const {
    for (At i = first < 0 ? 0 : first; i <= last && i < size(); ++i) {
      if (is(items[static_cast<std::size_t>(i)])) return true;
    }
    return false;
  }
};

/// Tokens to items: phrases, names, numbers in words and digits ("three hundred and five", "two and
/// a half"), fractions ("three quarters"), sentence and clause numbers.
std::vector<Item> itemise(const Matcher& matcher, const std::vector<Token>& tokens);

/// A number as it is written on a bag, read from item `i` on: digit by digit ("three four"), "one
/// oh one", "one twenty". `last` is the last item of it.
struct Label {
  std::string digits;
  Draft::At last = 0;
};
/// Empty digits: there is none.
Label read_label(const Draft& draft, Draft::At i);

/// Whether a number may be one of the same numbering as `last`: as many digits, and at most a few
/// steps away. False for digits of more than nine places and where `last` is empty.
bool in_series(std::string_view digits, std::string_view last);

/// The same whether or not a digit is gained on the way, as from nine to ten.
bool goes_on_from(std::string_view digits, std::string_view last);

}  // namespace stonecall::reading
