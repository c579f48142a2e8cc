#include "console/reading/reader.hpp"

#include <algorithm>
#include <iterator>

#include "console/reading/asides.hpp"
#include "console/reading/draft.hpp"
#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

/// "Forty percent nice", "no shirt", "ten tough two basalt": an everyday word in the place of a
/// kind. An adjective would have a noun behind it.
void hear_kinds(Draft& draft) {
  using At = Draft::At;
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.kind != Item::Kind::word || item.sense != Sense::none) continue;
    const Meaning* kind = draft.matcher.everyday_word(item.text);
    if (!kind) continue;
    const At noun = [&] {
      At k = i - 1;
      while (draft.at(k).is(Sense::colour) || draft.at(k).is(Sense::texture) ||
             draft.at(k).is(Sense::shape))
        --k;
      return k;
    }();
    const Item& left = draft.at(noun);
    const Item& right = draft.at(i + 1);
    const bool amount =
        left.number() || left.is(Sense::percent) || left.is(Sense::quantity) ||
        left.is(Sense::no) || left.kind == Item::Kind::fraction ||
        (left.is(Sense::preposition) &&
         (draft.at(noun - 1).is(Sense::piece) || draft.at(noun - 1).is(Sense::percent) ||
          draft.at(noun - 1).is(Sense::quantity) || draft.at(noun - 1).is(Sense::pick)));
    const bool of_bag_or_size = right.is(Sense::bag) || right.is(Sense::compare) ||
                                right.is(Sense::burial) || right.is(Sense::loose) ||
                                right.is(Sense::piece) || right.is(Sense::sample);
    const bool ends = right.mark() || right.is(Sense::conj) || right.is(Sense::is) ||
                      right.number() || right.is(Sense::but) || right.is(Sense::at) ||
                      right.is(Sense::rest) || right.rock() ||
                      right.any_of({"here", "so far", "yet"}) || of_bag_or_size;
    const bool pieces = right.is(Sense::piece) && right.text.ends_with("s") &&
                        !item.any_of({"nice", "grand", "tough"});
    if (!(amount && ends) && !pieces) continue;
    Item& heard = draft.edit(i);
    heard.kind = Item::Kind::rock;
    heard.index = kind->index;
    heard.weak = false;
    heard.digit = false;
  }
}

/// "basalt, really vesicular", "vesicular grey basalt": a modifier near the noun makes it the
/// narrower kind. Modifiers that stand alone count only where the noun is left out: "five
/// vesicular", "some of it holey".
void settle_kinds(Draft& draft) {
  using At = Draft::At;
  for (At i = 0; i < draft.size(); ++i) {
    Item& item = draft.edit(i);
    if (!item.rock() || !item.weak || !item.digit) continue;
    const std::size_t narrow = item.index;
    const auto widened = [&](At noun) {
      const Item& rock = draft.at(noun);
      return rock.rock() && (!rock.weak || !rock.digit) &&
             (rock.index == narrow || draft.matcher.same_head(rock.index, narrow));
    };
    const At after = draft.skip(i + 1, {Sense::colour, Sense::texture, Sense::shape});
    At before = i - 1;
    while (draft.at(before).comma() || draft.at(before).is(Sense::soft_correction) ||
           draft.at(before).any_of({"very", "quite", "rather", "fairly", "pretty"}) ||
           draft.at(before).is(Sense::colour)) {
      --before;
    }
    At noun = -1;
    if (widened(after))
      noun = after;
    else if (widened(before) && i - before <= 4 && !draft.at(i + 1).rock())
      noun = before;
    if (noun >= 0) {
      draft.edit(noun).index = narrow;
      item.kind = Item::Kind::word;
      item.sense = Sense::texture;
      continue;
    }
    const Item& left = draft.at(i - 1);
    const Item& right = draft.at(i + 1);
    const bool elliptic = left.number() || left.is(Sense::no_quantity) ||
                          left.is(Sense::quantity) || left.is(Sense::percent) ||
                          left.is(Sense::toward) || left.is(Sense::one) || right.is("to") ||
                          left.any_of({"of it", "rest", "it"}) || left.is(Sense::rest) ||
                          left.kind == Item::Kind::fraction;
    const bool ends = right.mark() || right.is(Sense::conj) || right.is("to") || right.number() ||
                      right.is("here");
    if (elliptic && ends) continue;
    item.kind = Item::Kind::word;
    item.sense = Sense::texture;
  }
}

/// "Seven lovely basalt", "ninety percent fresh gneiss", "all proper granite": what stands between
/// an amount and a kind describes the kind, whatever word it is.
void settle_adjectives(Draft& draft) {
  using At = Draft::At;
  for (At i = 1; i + 1 < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.kind != Item::Kind::word || item.sense != Sense::none) continue;
    const Item& kind = draft.at(i + 1);
    if (!kind.rock() ||
        item.text.find_first_not_of("abcdefghijklmnopqrstuvwxyz") != std::string::npos)
      continue;
    const Item& left = draft.at(i - 1);
    const bool amount = left.number() || left.is(Sense::percent) || left.is(Sense::quantity) ||
                        left.kind == Item::Kind::fraction || left.is(Sense::no_quantity) ||
                        left.is(Sense::texture) || left.is(Sense::is);
    if (!amount || item.any_of({"like", "than", "more", "less", "other", "another", "not", "mean",
                                "below", "above", "inside", "within", "near"}))
      continue;
    draft.edit(i).sense = Sense::texture;
    draft.edit(i).weak = true;
  }
}

/// The recognisers look around each item, so a long text is read in pieces: that keeps time linear
/// in its length. What people say in one breath is far shorter; a piece ends with a sentence if it
/// can.
constexpr std::ptrdiff_t piece_items = 160;

using Items = std::vector<Item>::iterator;

Items piece_end(Items begin, Items end) {
  if (end - begin <= piece_items) return end;
  for (Items cut = begin + piece_items; cut != begin + piece_items / 2; --cut) {
    if ((cut - 1)->stop()) return cut;
  }
  return begin + piece_items;
}

void read_piece(Draft& draft) {
  hear_kinds(draft);
  settle_kinds(draft);
  settle_adjectives(draft);
  read_questions(draft);
  mark_hedges(draft);
  find_labels(draft);
  read_corrections(draft);
  if (draft.corrects) return;
  read_absences(draft);
  read_sizes(draft);
  std::vector<Amount> amounts = find_amounts(draft);
  read_burial(draft, amounts);
  read_tallies(draft);
  read_shares(draft, amounts);
  read_photos(draft);
  read_rocks(draft);
  read_samples(draft);
  read_movements(draft);
  read_traits(draft);
}

}  // namespace

struct Reader::Prepared {
  Matcher matcher;
};

Reader::Reader(const Vocabulary& vocabulary) : prepared_(new Prepared{Matcher(vocabulary)}) {}
Reader::~Reader() = default;
Reader::Reader(Reader&&) noexcept = default;
Reader& Reader::operator=(Reader&&) noexcept = default;

std::vector<Proposal> Reader::read(std::string_view text, const Context& context) const {
  const Matcher& matcher = prepared_->matcher;
  std::vector<Token> tokens = tokenise(text);
  matcher.mend_spelling(tokens);
  drop_asides(tokens, context);
  std::vector<Item> items = itemise(matcher, tokens);

  std::vector<Proposal> proposals;
  for (auto begin = items.begin(); begin != items.end();) {
    const auto end = piece_end(begin, items.end());
    Draft draft{matcher, context, {std::make_move_iterator(begin), std::make_move_iterator(end)}};
    read_piece(draft);
    std::move(draft.proposals.begin(), draft.proposals.end(), std::back_inserter(proposals));
    begin = end;
  }
  std::stable_sort(proposals.begin(), proposals.end(), [](const Proposal& a, const Proposal& b) {
    return a.words.begin < b.words.begin;
  });
  return proposals;
}

bool SampleNumbers::contains(const std::string& number) const {
  const bool freed = std::find(freed_.begin(), freed_.end(), number) != freed_.end();
  if (taken_ && !freed)
    if (const auto found = taken_->find(number); found != taken_->end() && found->second <= until_)
      return true;
  return std::find(added_.begin(), added_.end(), number) != added_.end();
}

void follow(Context& context, const std::vector<Proposal>& proposals) {
  bool taken = false;
  bool arrived = false;
  bool left = false;
  for (const Proposal& proposal : proposals) {
    if (const auto* happened = std::get_if<Happened>(&proposal.fact)) {
      taken = taken || happened->what == What::sample;
      arrived = arrived || happened->what == What::arrive;
      left = left || happened->what == What::leave;
    }
  }
  bool numbered = false;
  double said = 0;
  std::string last_share;
  for (const Proposal& proposal : proposals) {
    numbered = numbered || std::holds_alternative<FieldNumber>(proposal.fact);
    if (const auto* share = std::get_if<RockShare>(&proposal.fact)) {
      said += share->percent.best;
      last_share = share->rock;
    }
  }
  if (taken || numbered) context.unnumbered = taken && !numbered;
  context.shares_before = {said > 0 && said < 100 ? 100 - said : 0, std::move(last_share)};
  for (const Proposal& proposal : proposals) {
    if (const auto* station = std::get_if<AtStation>(&proposal.fact)) {
      if (arrived)
        context.station = station->station;
      else if (left)
        context.station.clear();
    } else if (const auto* number = std::get_if<FieldNumber>(&proposal.fact)) {
      context.last_sample = number->digits;
      if (taken && !context.samples.contains(number->digits)) context.samples.add(number->digits);
    } else if (const auto* bag = std::get_if<BagNumber>(&proposal.fact)) {
      context.last_bag = bag->digits;
    } else if (const auto* change = std::get_if<PutRight>(&proposal.fact)) {
      if (change->what == Changed::bag) context.last_bag = change->to;
      if (change->what == Changed::sample_number) {
        // The number that was given wrongly is free again.
        context.samples.free(change->sample.value_or(context.last_sample));
        context.last_sample = change->to;
        context.samples.add(change->to);
      }
    }
  }
  if (left) context.station.clear();
}

}  // namespace stonecall::reading
