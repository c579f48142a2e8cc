#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

struct Claim {
  At rock = -1;
  std::size_t amount = 0;
};

class Pairing {
 public:
  Pairing(Draft& draft, const std::vector<Amount>& amounts) : draft_(draft), amounts_(amounts) {}

  void run() {
    add_bare_figures();
    std::stable_sort(amounts_.begin(), amounts_.end(),
                     [](const Amount& a, const Amount& b) { return a.first < b.first; });
    drop_all_of_part();
    for (std::size_t i = 0; i < amounts_.size(); ++i) pair(i);
    state();
    if (claims_.empty()) put_right_last();
  }

 private:
  bool kind(At i) const { return draft_.at(i).stated_rock(); }

  /// "The other twenty is pretty much all tuff": all of those twenty.
  void drop_all_of_part() {
    for (std::size_t i = 0; i + 1 < amounts_.size(); ++i) {
      const Amount& part = amounts_[i];
      const Amount& all = amounts_[i + 1];
      if (part.figures && draft_.at(part.first).is(Sense::rest) && !all.figures &&
          all.percent.low >= 85 && same_clause(part.last, all.first))
        amounts_.erase(amounts_.begin() + static_cast<std::ptrdiff_t>(i) + 1);
    }
  }

  /// "forty percent limestone, thirty greywacke": the second figure is of percent too.
  void add_bare_figures() {
    const bool percent = std::any_of(amounts_.begin(), amounts_.end(), [&](const Amount& amount) {
      return amount.figures && draft_.any(amount.first, amount.last,
                                          [](const Item& item) { return item.is(Sense::percent); });
    });
    if (draft_.has_label(LabelSaid::Of::sample)) return;
    if (!percent && add_bare_ranges()) return;
    if (!percent && !figures_make_whole()) return;
    for (At i = 0; i < draft_.size(); ++i) {
      const Item& item = draft_.at(i);
      if (!item.number() || item.used || item.mutes || item.low > 100 || covered(i)) continue;
      const At after = draft_.skip(i + 1, {Sense::colour, Sense::texture, Sense::preposition});
      At left = i - 1;
      while (draft_.at(left).is(Sense::at) || draft_.at(left).is(Sense::is) ||
             draft_.at(left).is(Sense::approx) || draft_.at(left).is("another"))
        --left;
      const bool before =
          kind(left) &&
          (draft_.at(i + 1).mark() || draft_.at(i + 1).is(Sense::conj) ||
           draft_.at(i + 1).is(Sense::approx) || draft_.at(i + 1).is(Sense::rest) || kind(i + 1));
      if (!kind(after) && !before) continue;
      amounts_.push_back({i,
                          i,
                          {std::max(0.0, item.low - 5), std::min(100.0, item.low + 5), item.low},
                          true,
                          false,
                          false});
    }
  }

  /// "Coal 80 to 90. Shale 10 to 20.": ranges beside kinds whose middles make a hundred.
  bool add_bare_ranges() {
    std::vector<Amount> ranges;
    double sum = 0;
    for (At i = 1; i + 2 < draft_.size(); ++i) {
      const Item& low = draft_.at(i);
      const Item& high = draft_.at(i + 2);
      if (!low.number() || !high.number() || !draft_.at(i + 1).is("to")) continue;
      const bool beside = kind(i - 1) && (draft_.at(i + 3).mark() || kind(i + 3));
      if (low.used || low.mutes || high.used || high.mutes || !beside || low.low >= high.low ||
          high.low > 100)
        return false;
      sum += (low.low + high.low) / 2;
      ranges.push_back(
          {i, i + 2, {low.low, high.low, (low.low + high.low) / 2}, true, false, false});
    }
    if (ranges.size() < 2 || std::abs(sum - 100) > 0.5) return false;
    amounts_.insert(amounts_.end(), ranges.begin(), ranges.end());
    return true;
  }

  /// "Travertine ninety anhydrite ten": figures beside kinds that make a hundred, or do so with the
  /// rest that is named: "psammite sixty, schist thirty, quartz the balance".
  bool figures_make_whole() const {
    double sum = 0;
    bool in_fives = true;
    int kinds = 0;
    int others = 0;  // "…, odds and ends ten"
    for (At i = 0; i < draft_.size(); ++i) {
      const Item& item = draft_.at(i);
      if (!item.number() || item.used || item.mutes) continue;
      if (!kind(i - 1) && !kind(i + 1)) {
        if (++others > 1 || kinds < 2) return false;
      } else {
        ++kinds;
      }
      sum += item.low;
      in_fives = in_fives && std::fmod(item.low, 5) == 0;
    }
    const bool rest = std::ranges::any_of(amounts_, [&](const Amount& amount) {
      return amount.rest && (kind(amount.first - 1) || kind(amount.last + 1));
    });
    if (rest) return kinds >= 1 && in_fives && sum >= 40 && sum < 100;
    return kinds >= 2 && std::abs(sum - 100) < 0.5;
  }

  bool covered(At i) const {
    return std::any_of(amounts_.begin(), amounts_.end(),
                       [&](const Amount& amount) { return amount.first <= i && i <= amount.last; });
  }

  At amount_before(std::size_t i) const { return i > 0 ? amounts_[i - 1].last : -1; }
  At amount_after(std::size_t i) const {
    for (std::size_t k = i + 1; k < amounts_.size(); ++k) {
      if (amounts_[k].first > amounts_[i].last) return amounts_[k].first;
    }
    return draft_.size();
  }

  At next_kind(std::size_t i) const {
    for (At k = amounts_[i].last + 1; k < amount_after(i) && !draft_.at(k).stop(); ++k) {
      if (draft_.at(k).is(Sense::no_quantity)) return -1;
      if (kind(k) && !claimed(k)) return k;
    }
    return -1;
  }
  At kind_before(std::size_t i) const {
    At beside = -1;
    for (At k = amounts_[i].first - 1; k > amount_before(i) && !draft_.at(k).stop(); --k) {
      if (!kind(k)) continue;
      if (!says_where(k)) return k;
      if (beside < 0) beside = k;
    }
    return beside;
  }
  /// "under the tufa": a kind that says where another one lies.
  bool says_where(At rock) const {
    const Item& before = draft_.at(rock - 1);
    return before.is(Sense::under) ||
           (before.is(Sense::determiner) &&
            draft_.at(rock - 2).any_of({"above", "beneath", "behind", "beside", "between"}));
  }
  bool claimed(At rock) const {
    return std::any_of(claims_.begin(), claims_.end(),
                       [&](const Claim& claim) { return claim.rock == rock; });
  }
  bool same_clause(At a, At b) const { return draft_.at(a).clause == draft_.at(b).clause; }

  /// Names come first and amounts after them all along: "sandstone forty percent limestone thirty
  /// percent".
  bool names_lead(std::size_t i) const {
    const int sentence = draft_.at(amounts_[i].first).sentence;
    At first_kind = -1;
    At last_kind = -1;
    int kinds = 0;
    for (At k = 0; k < draft_.size(); ++k) {
      if (!kind(k) || draft_.at(k).sentence != sentence) continue;
      if (first_kind < 0) first_kind = k;
      last_kind = k;
      ++kinds;
    }
    At first_amount = draft_.size();
    At last_amount = -1;
    int count = 0;
    for (const Amount& amount : amounts_) {
      if (draft_.at(amount.first).sentence != sentence) continue;
      first_amount = std::min(first_amount, amount.first);
      last_amount = std::max(last_amount, amount.last);
      ++count;
    }
    return kinds > 1 && kinds == count && first_kind >= 0 && first_kind < first_amount &&
           last_kind < last_amount && first_amount - first_kind <= 4;
  }

  /// "Gravel at the foot, oolite on top, about forty sixty": of figures said in one breath after as
  /// many kinds each is of the kind in the same place.
  At kind_in_turn(std::size_t i) const {
    std::size_t first = i;
    std::size_t last = i;
    while (first > 0 && amounts_[first - 1].first == amounts_[i].first) --first;
    while (last + 1 < amounts_.size() && amounts_[last + 1].first == amounts_[i].first) ++last;
    const std::size_t figures = last - first + 1;
    std::vector<At> kinds;
    for (At k = draft_.sentence_begin(amounts_[i].first); k < amounts_[i].first; ++k)
      if (kind(k)) kinds.push_back(k);
    const bool more = draft_.any(amounts_[i].last + 1, draft_.sentence_end(amounts_[i].last),
                                 [](const Item& item) { return item.stated_rock(); });
    // "sixty percent tuff, the other forty basalt and granite, half each": of the last two
    const bool split = draft_.at(amounts_[i].first).is(Sense::half_half) && kinds.size() > figures;
    if (split) kinds.erase(kinds.begin(), kinds.end() - static_cast<std::ptrdiff_t>(figures));
    return figures > 1 && kinds.size() == figures && !more ? kinds[i - first] : -1;
  }

  /// "granite forty percent basalt thirty percent the rest schist": the first figure of the
  /// sentence, and this one, stand right behind a name.
  bool figures_trail(std::size_t i) const {
    const auto behind_name = [&](const Amount& amount) {
      return amount.figures && kind(amount.first - 1) && draft_.at(amount.last + 1).text != "of";
    };
    if (!behind_name(amounts_[i]) || claimed(amounts_[i].first - 1)) return false;
    const int sentence = draft_.at(amounts_[i].first).sentence;
    for (const Amount& amount : amounts_) {
      if (draft_.at(amount.first).sentence == sentence) return behind_name(amount);
    }
    return false;
  }

  void pair(std::size_t i) {
    const Amount& amount = amounts_[i];
    if (draft_.any(amount.first, amount.last,
                   [](const Item& item) { return item.used || item.mutes; }))
      return;
    // "most of what's left is marble": most of a part that nobody gave in figures
    if (i + 1 < amounts_.size() && amounts_[i + 1].rest && !amount.figures && !amount.all &&
        amounts_[i + 1].first - amount.last <= 2)
      return;
    if (i > 0 && amount.rest && !amounts_[i - 1].figures && !amounts_[i - 1].all &&
        !amounts_[i - 1].rest && amount.first - amounts_[i - 1].last <= 2)
      return;
    // "the rest of it is mostly schist": most of a part that nobody named
    if (i > 0 && amounts_[i - 1].rest && !amount.figures && !amount.rest &&
        same_clause(amounts_[i - 1].last, amount.first) && kind_before(i) < 0)
      return;
    if (i + 1 < amounts_.size() && amount.rest && !amounts_[i + 1].figures &&
        !amounts_[i + 1].rest && same_clause(amount.last, amounts_[i + 1].first) &&
        next_kind(i) < 0)
      return;
    if (of_a_trait(amount)) return;
    if (claim_each(i)) return;
    const At next = next_kind(i);
    const At before = kind_before(i);
    // "argillite I would put at ninety percent of the face, and lignite is the rest"
    const bool put_at = amount.figures && before >= 0 && !claimed(before) &&
                        draft_.at(amount.first - 1).is("at") &&
                        draft_.any(before + 1, amount.first - 1, [](const Item& item) {
                          return item.any_of({"put", "estimate", "place", "reckon", "call", "rate",
                                              "have", "guess"});
                        });
    if (put_at) return claim(before, i);
    if (amount.all) {
      // "there's everything here, gabbro, slate"
      if (draft_.at(amount.first).is("everything") &&
          draft_.at(amount.first - 1)
              .any_of({"there's", "there is", "it's got", "got", "a bit of"}))
        return;
      // "The wall here is slate. All the wall."
      if (const At named = kind_of_fragment(i); named >= 0 && next < 0) return claim(named, i);
      // "all gabbro and troctolite": of neither is it said how much
      if (next >= 0 && joined_by_another(next)) return;
      // "all" is said of much else: it must stand at the name.
      const At close =
          draft_.skip(amount.last + 1, {Sense::is, Sense::preposition, Sense::piece, Sense::colour,
                                        Sense::texture, Sense::determiner, Sense::filler, Sense::at,
                                        Sense::shape, Sense::restart, Sense::now});
      const bool leads =
          next >= 0 && (close == next ||
                        (draft_.at(amount.first)
                             .any_of({"everything", "everything's", "all of it", "all the rocks",
                                      "practically everything", "all of them"}) &&
                         same_clause(amount.last, next)));
      const bool after_all =
          (next < 0 || !same_clause(amount.last, next)) && before >= 0 &&
          draft_.at(amount.first)
              .any_of({"nothing else", "nothing besides", "nothing but", "wall to wall",
                       "all of it", "exclusively", "the whole lot", "the lot"}) &&
          amount.first - before <= 6;
      if (leads) {
        claim(next, i);
        return leave_out(i);
      }
      if (after_all) return claim(before, i);
      return;
    }
    if (const At named = kind_in_turn(i); named >= 0) return claim(named, i);
    if (names_lead(i) && before >= 0) return claim(before, i);
    if (figures_trail(i)) return claim(amount.first - 1, i);
    if (next >= 0 && same_clause(amount.last, next)) {
      // "granite is common and schist too"
      const bool verb_between =
          before >= 0 && !claimed(before) && same_clause(amount.first, before) &&
          amount.first - before <= 3 &&
          (draft_.at(before + 1).is(Sense::is) || draft_.at(next - 1).is(Sense::conj)) &&
          !figures_of(amount);
      if (!verb_between) return claim(next, i);
    }
    if (before >= 0 && same_clause(amount.first, before)) return claim(before, i);
    if (before >= 0 && amount.first - before <= 4) return claim(before, i);
    if (next >= 0) {
      // "about a third, maybe more, granite"
      if (next - amount.last <= 6) claim(next, i);
      return;
    }
    if (before >= 0) return claim(before, i);
    if (const At named = kind_of_fragment(i); named >= 0) return claim(named, i);
    // "limestone dominates, I'd put it at sixty percent": the figure for what was said in words
    if (amount.figures && i > 0 && !amounts_[i - 1].figures) {
      for (const Claim& earlier : claims_) {
        if (earlier.amount == i - 1 &&
            draft_.at(earlier.rock).sentence == draft_.at(amount.first).sentence)
          return claim(earlier.rock, i);
      }
    }
    // "of this stuff": the kind named earlier in the note
    if (amount.figures && draft_.any(amount.last + 1, amount.last + 6, [](const Item& item) {
          return item.any_of({"stuff", "this", "that", "it", "them", "these"});
        })) {
      for (At k = amount.first - 1; k >= 0; --k) {
        if (kind(k)) return claim(k, i);
      }
      for (At k = amount.last + 1; k < draft_.size(); ++k) {
        if (kind(k)) return claim(k, i);
      }
    }
  }

  /// "A quarter each of tuff, slate and chert", "tuff and slate, ten percent each".
  bool claim_each(std::size_t i) {
    const Amount& amount = amounts_[i];
    if (!draft_.at(amount.last + 1).any_of({"each", "of each"})) return false;
    const auto links = [&](At k) {
      const Item& item = draft_.at(k);
      return item.comma() || item.is(Sense::conj) || item.is(Sense::determiner) ||
             item.is(Sense::colour) || item.is(Sense::texture) || item.is(Sense::preposition);
    };
    std::vector<At> kinds;
    for (At k = amount.last + 2; kind(k) || links(k); ++k)
      if (kind(k)) kinds.push_back(k);
    if (kinds.size() < 2) {
      kinds.clear();
      At k = amount.first - 1;
      while (draft_.at(k).is(Sense::at) || draft_.at(k).is(Sense::approx)) --k;
      for (; kind(k) || links(k); --k)
        if (kind(k)) kinds.push_back(k);
    }
    if (kinds.size() < 2) return false;
    for (const At each : kinds) claim(each, i);
    return true;
  }

  /// "The chert is mostly red", "most of them are rounded": how many are so, not what they are.
  bool of_a_trait(const Amount& amount) const {
    if (amount.figures || amount.rest) return false;
    const auto trait = [](const Item& item) {
      return item.is(Sense::colour) || item.is(Sense::texture) || item.is(Sense::shape) ||
             item.is(Sense::compare);
    };
    At i = draft_.skip(amount.last + 1, {Sense::filler});
    // "most of the tuff is rounded"
    const At subject = draft_.skip(i, {Sense::preposition, Sense::determiner});
    const bool of_kind = subject > i && kind(subject) && draft_.at(subject + 1).is(Sense::is);
    if (of_kind) i = draft_.skip(subject + 2, {Sense::filler});
    const Item& before = draft_.at(amount.first - 1);
    if (!trait(draft_.at(i)) || !(of_kind || before.is(Sense::is) || before.rock())) return false;
    while (trait(draft_.at(i)) || draft_.at(i).is("and") || draft_.at(i).is(Sense::sized)) ++i;
    return draft_.at(i).mark() || draft_.at(i).is(Sense::but) || draft_.at(i).is(Sense::because);
  }

  /// "All limestone apart from a few blocks of schist": what the next amount takes from all.
  void leave_out(std::size_t all) {
    if (all + 1 >= amounts_.size() || amounts_[all + 1].all || amounts_[all + 1].rest) return;
    const Amount& other = amounts_[all + 1];
    At but = other.first - 1;
    while (draft_.at(but).is(Sense::determiner)) --but;
    if (!draft_.at(but).is(Sense::but) || next_kind(all + 1) < 0 ||
        draft_.at(but).sentence != draft_.at(amounts_[all].last).sentence)
      return;
    amounts_[all].percent = {100 - other.percent.high, 100 - other.percent.low,
                             100 - other.percent.best};
  }

  /// Whether another kind, of which no amount is said, stands beside this one: "all gabbro low down
  /// and shale on top".
  bool joined_by_another(At rock) const {
    bool joined = false;
    for (At k = rock + 1; k < draft_.size() && draft_.at(k).clause == draft_.at(rock).clause; ++k) {
      const Item& item = draft_.at(k);
      if (item.number() || item.is(Sense::quantity) || item.is(Sense::no_quantity) ||
          item.is(Sense::restart) || covered(k))
        return false;
      joined = joined || item.is("and") || item.is("plus");
      if (kind(k) && draft_.at(k).index != draft_.at(rock).index) return joined;
    }
    return false;
  }

  /// "Gabbro everywhere. 95 percent.", "Coal in the heap. A trace.": a sentence of nothing but an
  /// amount is of the one kind in the sentence before it.
  At kind_of_fragment(std::size_t i) const {
    const Amount& amount = amounts_[i];
    const At begin = draft_.sentence_begin(amount.first);
    const At end = draft_.sentence_end(amount.last);
    const bool bare = !draft_.any(begin, amount.first - 1, [](const Item& item) {
      return !item.is(Sense::approx) && !item.is(Sense::conj) && !item.is(Sense::filler) &&
             !item.is(Sense::one) && !item.is(Sense::at) && !item.is(Sense::restart) &&
             !item.any_of({"i", "i'd", "we'd", "would", "put", "call", "make", "that", "easily",
                           "say", "i'd say", "well", "maybe"});
    }) && !draft_.any(amount.last + 1, end, [&](const Item& item) {
      if (amount.all && item.any_of({"wall", "floor", "face", "cliff", "slope", "bank", "ledge",
                                     "bed", "lot", "way"}))
        return false;
      return !item.is(Sense::approx) && !item.is("plus") && !item.is(Sense::at_most) &&
             !item.is(Sense::preposition) && !item.is(Sense::determiner) &&
             !item.any_of({"or", "more", "ground", "surface", "area", "place", "whole", "i", "we",
                           "think", "reckon", "guess", "it", "here", "outcrop", "what's", "on",
                           "them", "all"}) &&
             !item.comma();
    });
    if (amount.rest || !bare || begin == 0) return -1;
    At named = -1;
    for (At k = begin - 2; k >= 0 && !(k < begin - 1 && draft_.at(k).stop()); --k) {
      if (!kind(k)) continue;
      if (named >= 0 && draft_.at(k).index != draft_.at(named).index) return -1;
      named = k;
    }
    // "Bands of ironstone. 5 cm thick. Under 5 percent.": a sentence that names none stands between
    if (named >= 0) return named;
    At only = -1;
    for (At k = 0; k < begin; ++k) {
      if (!kind(k)) continue;
      if (only >= 0 && draft_.at(k).index != draft_.at(only).index) return -1;
      only = k;
    }
    return only;
  }

  bool figures_of(const Amount& amount) const {
    return amount.figures && draft_.at(amount.last + 1).is(Sense::preposition);
  }

  void claim(At rock, std::size_t amount) {
    if (rock < 0) return;
    for (Claim& earlier : claims_) {
      if (draft_.at(earlier.rock).index != draft_.at(rock).index) continue;
      // Of "occasional spatter, say five percent" the figure counts.
      if (amounts_[amount].figures && !amounts_[earlier.amount].figures) earlier.amount = amount;
      return;
    }
    claims_.push_back({rock, amount});
  }

  void state() {
    double said = 0;
    for (const Claim& claim : claims_) {
      if (!amounts_[claim.amount].rest) said += amounts_[claim.amount].percent.best;
    }
    const bool figures = std::any_of(claims_.begin(), claims_.end(), [&](const Claim& claim) {
      return amounts_[claim.amount].figures;
    });
    for (const Claim& claim : claims_) {
      const Amount& amount = amounts_[claim.amount];
      Portion percent = amount.percent;
      double sureness = amount.figures ? 0.9 : 0.8;
      if (amount.rest) {
        double left = 100 - said;
        if (!figures) {
          // "And the rest of it is slate", after a note that said how much the others are
          std::size_t kinds = 0;
          for (At i = 0; i < draft_.size(); ++i) kinds += draft_.at(i).rock() ? 1u : 0u;
          const bool alone = claims_.size() == 1 && kinds == 1 && opens(amount.first);
          if (!alone) continue;
          left = draft_.context.said_before().left;
          sureness = 0.6;
        }
        if (left <= 0) continue;
        percent = {std::max(0.0, left - 10), std::min(100.0, left + 10), left};
      }
      const KnownRock& rock = draft_.rock(draft_.at(claim.rock));
      draft_.propose(RockShare{rock.name, percent, rock.planned},
                     std::min(claim.rock, amount.first), std::max(claim.rock, amount.last),
                     sureness);
    }
  }

  /// "Make that seventy", "more like a third": no kind is named, so the figure is of the kind of
  /// which a share was said last.
  void put_right_last() {
    if (draft_.any(0, draft_.size() - 1, [](const Item& item) {
          return item.rock() || item.is(Sense::gear) || item.is(Sense::bag) ||
                 item.is(Sense::sample) || item.is(Sense::buried) || item.is(Sense::unit);
        }))
      return;
    At figure = -1;
    At last = -1;
    Portion percent;
    for (const Amount& amount : amounts_) {
      if (!amount.figures || figure >= 0) return;
      figure = amount.first;
      last = amount.last;
      percent = amount.percent;
    }
    if (figure < 0) {
      for (At i = 0; i < draft_.size() && figure < 0; ++i)
        if (draft_.at(i).number() && draft_.at(i).low <= 100 &&
            (draft_.at(i + 1).mark() || draft_.at(i + 1).is(Sense::at_most) ||
             draft_.at(i + 1).is(Sense::approx) || draft_.at(i + 1).any_of({"i", "or", "if"})))
          figure = i;
      if (figure < 0) return;
      last = figure;
      const double value = draft_.at(figure).low;
      percent = {std::max(0.0, value - 5), std::min(100.0, value + 5), value};
      if (draft_.at(figure + 1).is(Sense::at_most) || draft_.at(figure - 1).is(Sense::at_most))
        percent = {0, value, value / 2};
    }
    // "I wouldn't put it that high, thirty tops", "fewer than that, ten maybe"
    const bool compares =
        (draft_.at(0).any_of({"no", "nah"}) && draft_.at(last + 1).is(Sense::at_most)) ||
        (draft_.any(0, figure,
                    [](const Item& item) {
                      return item.any_of({"fewer", "less", "lower", "higher", "high", "low", "much",
                                          "many"}) ||
                             item.is(Sense::at_most) || item.is(Sense::at_least);
                    }) &&
         draft_.any(0, figure, [](const Item& item) {
           return item.any_of({"that", "than", "so", "as", "i'd", "i would", "nah", "no"}) ||
                  item.is(Sense::approx) || item.is(Sense::sees_not);
         }));
    std::string before;
    for (At k = std::max<At>(0, figure - 4); k < figure; ++k) before += draft_.at(k).text + ' ';
    static constexpr std::array<std::string_view, 12> cues{
        "make that ", "make it ", "call it ",   "more like ", "nearer ",  "closer to ",
        "rather ",    "i'd go ",  "should be ", "i mean ",    "i meant ", "make "};
    if (!compares && std::ranges::none_of(cues, [&](std::string_view cue) {
          return before.find(cue) != std::string::npos;
        }))
      return;
    const std::string kind = draft_.context.said_before().last;
    for (const KnownRock& rock : draft_.matcher.rocks())
      if (rock.name == kind)
        return draft_.propose(RockShare{kind, percent, rock.planned}, figure, last, 0.6);
  }

  /// Whether nothing but little words stands before item i.
  bool opens(At i) const {
    return !draft_.any(0, i - 1, [](const Item& item) {
      return !item.mark() && !item.is(Sense::conj) && !item.is(Sense::filler) &&
             !item.is(Sense::now) && !item.is(Sense::determiner) &&
             !item.any_of({"so", "okay", "ok", "yeah", "yes", "right"});
    });
  }

  Draft& draft_;
  std::vector<Amount> amounts_;
  std::vector<Claim> claims_;
};

/// "The pebbles in the conglomerate are two thirds rhyolite": what a rock is made of, not the
/// ground.
bool of_a_rock(const Draft& draft, const Amount& said) {
  const At amount = said.first;
  // "granite has about thirty percent quartz"
  if (draft.at(amount - 1).any_of({"has", "contains", "containing", "holds", "carries"}) &&
      draft.at(amount - 2).rock() && !draft.at(said.last + 1).mark() &&
      !draft.at(said.last + 1).is(Sense::conj))
    return true;
  for (At i = draft.sentence_begin(amount); i < amount; ++i) {
    const bool part = draft.at(i).is(Sense::piece) ||
                      draft.at(i).any_of({"crystals", "phenocrysts", "inclusions", "grains"});
    if (!part || !draft.at(i + 1).any_of({"in", "inside", "within"})) continue;
    const At rock = draft.skip(i + 2, {Sense::determiner, Sense::colour, Sense::texture});
    if (draft.at(rock).rock() && rock > i + 2 && draft.at(rock + 1).is(Sense::is)) return true;
  }
  return false;
}

}  // namespace

void read_shares(Draft& draft, const std::vector<Amount>& amounts) {
  if (draft.counts || draft.has_label(LabelSaid::Of::bag)) return;
  std::vector<Amount> of_the_ground = amounts;
  std::erase_if(of_the_ground, [&](const Amount& amount) { return of_a_rock(draft, amount); });
  Pairing(draft, of_the_ground).run();
}

}  // namespace stonecall::reading
