#include <cstdlib>

#include "console/reading/labels.hpp"

namespace stonecall::reading::labels {
namespace {

/// Whether a bare number, `label` at item i, stands for a sample.
bool names_sample(const Draft& draft, At i, const Label& label, bool photos, bool bags) {
  // "two cross sun frames": a count
  if (photo_item(draft.at(label.last + 1)) && draft.at(label.last + 1).text.ends_with("s") &&
      draft.at(i).low <= 4)
    return false;
  const Item& before = draft.at(i - 1);
  const Item& after = draft.at(label.last + 1);
  // "nine are dolerite", "nine of them": a number of rocks, unless more samples are named with it
  const bool plural =
      (after.any_of({"are", "were"}) &&
       !(photos && before.any_of({"of", "for"}) && is_known(draft, label.digits))) ||
      (after.is("of") && draft.at(label.last + 2).any_of({"them", "these", "those"}));
  // "two are gneiss, one is basalt"
  if (label.digits.size() == 1) {
    for (At k = 0; k < i; ++k)
      if (draft.at(k).number() && draft.at(k + 1).any_of({"are", "were"})) return false;
  }
  if (plural && !(before.any_of({"and", ","}) && draft.at(i - 2).number())) return false;
  // "chip four eleven bag thirty"
  if (after.is(Sense::bag) && bags && !before.any_of({"in", "into"})) return true;
  // "bagged it in thirty four as four fourteen"
  if (before.is("as") && (bags || draft.any(0, i - 1, [](const Item& item) {
        return item.is(Sense::pick) || item.is(Sense::bag) ||
               item.any_of({"going in", "goes in", "went in", "going", "goes", "went"});
      })))
    return true;
  // A number of three digits that goes on with the field numbers is one, unless it is a time.
  if (label.digits.size() >= 3 && in_series(label.digits, draft.context.last_sample) &&
      !before.any_of({"in", "into"}) && !of_time(draft, i, label))
    return true;
  if (opens_with_next(draft, i, label)) return true;
  const bool counted =
      after.is(Sense::percent) || after.is(Sense::unit) || after.is(Sense::piece) || after.rock() ||
      after.kind == Item::Kind::fraction || of_time(draft, i, label) || before.is(Sense::approx) ||
      after.any_of({"paces", "steps", "times", "metres", "people", "degrees"}) ||
      (after.any_of({"more", "out", "of", "to", "or"}) && !draft.at(label.last).possessive);
  const bool numbered = draft.has_label(Of::sample);
  // "we broke it and ten's slate"
  if (draft.at(label.last).possessive && after.rock() && is_known(draft, label.digits) &&
      !draft.at(i - 1).any_of({"next", "last", "this", "that", "the"}))
    return true;
  const bool next_one = comes_next(draft, label.digits);
  // "that's two in bag forty" counts, unless the last one was number one
  const bool by_itself =
      label.digits.size() >= 2 ||
      std::atoi(label.digits.c_str()) == std::atoi(draft.context.last_sample.c_str()) + 1;
  const bool in_bag_behind = bag_follows(draft, label.last + 1);
  // "that'll be sixty two in bag forty", "the size of my thumbnail sixty nine and that's in bag
  // forty"
  if (!counted && bags && !numbered && gives_number(before) && in_bag_behind && by_itself)
    return true;
  // "agate for forty three, golf ball, bag six", "the walnut sized one is sixteen": what goes on
  // with the field numbers and neither counts nor measures, wherever it stands
  const bool free_standing = !counted && !numbered && !before.any_of({"in", "into", "between"}) &&
                             !after.any_of({"by", "plus"});
  if (free_standing && bags && next_one) return true;
  const bool described = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::compare) || item.is(Sense::buried) || item.is(Sense::burial);
  });
  if (free_standing && described && label.digits.size() >= 2 && is_known(draft, label.digits))
    return true;
  // "seven for me is granite, bag twelve"
  if (bags && !numbered && opens(draft, i) && after.is("for") &&
      draft.at(label.last + 2).any_of({"me", "us"}) && draft.at(label.last + 3).is(Sense::is))
    return true;
  // "change twenty one to slate", "it's slate, twenty two I mean"
  if (label.digits.size() >= 2 && is_known(draft, label.digits) &&
      ((before.is("change") && after.is("to")) || (after.is("i mean") && before.mark())))
    return true;
  // "I've looked again and six isn't slate"
  if (!counted && after.any_of({"isn't", "is not", "wasn't", "was not", "not", "ain't"}) &&
      is_known(draft, label.digits) &&
      draft.at(draft.skip(label.last + 2, {Sense::determiner, Sense::colour})).rock())
    return true;
  // "I thought eighteen was slate"
  if (!counted && before.is("thought") && after.is(Sense::is) && is_known(draft, label.digits))
    return true;
  // "Otto's pumice is fifteen in bag six"
  if (bags && !numbered && before.is(Sense::is) && in_bag_behind && is_known(draft, label.digits))
    return true;
  // "sixty five is the schist in forty three"
  const bool is_behind = after.is(Sense::is) || after.any_of({"is the", "is a", "is one"});
  if (!counted && bags && label.digits.size() >= 2 && is_known(draft, label.digits) && is_behind)
    return true;
  // "thirty's more like a foot long"
  if (draft.at(label.last).possessive && opens(draft, i) && after.is("more") &&
      draft.at(label.last + 2).is("like") && is_known(draft, label.digits))
    return true;
  if (after.is(Sense::percent) || after.is(Sense::unit) || after.is(Sense::side) ||
      after.is(Sense::piece) || after.rock() ||
      after.any_of({"more", "minutes", "minute", "hours", "seconds", "out", "in", "o'clock", "past",
                    "degrees", "times", "of", "to"}) ||
      after.kind == Item::Kind::fraction) {
    const bool in_bag = after.is("in") && (draft.at(label.last + 2).is(Sense::bag) ||
                                           draft.at(label.last + 3).is(Sense::bag));
    const bool opens_description = after.rock() && bags && opens(draft, i);
    const bool to_bag = after.is("to") && draft.at(label.last + 2).is(Sense::bag);
    const bool to_rock = after.is("to") && draft.at(label.last + 2).rock();
    if (!in_bag && !opens_description && !to_bag && !to_rock) return false;
  }
  // "a bit of hornfels one fifteen bag fifty five"
  if (bags && before.rock() && after.is(Sense::bag)) return true;
  if (before.is("time") || (before.is("is") && draft.at(i - 2).is("time"))) return false;
  if (before.is(Sense::one) || before.is(Sense::number)) return true;
  const bool seen = is_known(draft, label.digits);
  const bool corrects = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::correction) || item.is(Sense::soft_correction);
  });
  if (corrects && seen && points_at(before)) return true;
  if (before.is(Sense::is) && draft.at(i - 2).is(Sense::one) &&
      draft.at(i - 2).text.ends_with("sample"))
    return true;
  // "and one with the sun behind me", "one pair taken": a picture
  if (photos && label.digits == "1" && !is_known(draft, label.digits) &&
      (after.is("with") || photo_item(after)))
    return false;
  // "shot twenty nine thirty and thirty one": each of a list
  const auto known_at = [&](At k) {
    const Label other = read_label(draft, k);
    return other.digits.size() >= 2 && is_known(draft, other.digits);
  };
  if (photos && label.digits.size() >= 2 && is_known(draft, label.digits) &&
      (known_at(label.last + 1) || (after.is("and") && known_at(label.last + 2)) ||
       (draft.at(i - 1).number() && draft.at(i - 1).used)))
    return true;
  if (photos) {
    const bool says_taken = after.any_of(
        {"taken", "documented", "shot", "all shot", "all taken", "in the can", "photographed"});
    // "all the photos done for five, stereo, down sun"
    const bool done_for = draft.at(i - 2).is(Sense::finished) || draft.at(i - 2).is(Sense::photo);
    if (points_at(before) && (!photo_item(after) || says_taken || done_for)) return true;
    if (before.any_of({"lifting", "removing", "lifted"})) return true;
    // "and one down sun for ten": a count
    const bool pointed_at_other = draft.any(label.last + 1, draft.size() - 1, [](const Item& item) {
      return item.number();
    }) && draft.any(label.last + 1, draft.size() - 1, [](const Item& item) {
      return item.is("for") || item.is("on") || item.is("of");
    });
    if (photo_item(after) && draft.at(i).low <= 2 && pointed_at_other) return false;
    if (opens(draft, i) && !after.any_of({"frames"}) &&
        (!photo_item(after) || !after.any_of({"frames", "pictures", "photos", "shots", "pics"})))
      return true;
    if (before.comma() && after.mark()) return true;
    if (photo_item(before) &&
        (after.mark() || photo_item(after) || after.is(Sense::conj) || after.is(Sense::finished)))
      return true;
    // "stereo and one down sun" counts pictures
    if (draft.at(i - 1).is(Sense::conj) && photo_item(after) &&
        (draft.at(i).low > 2 || is_known(draft, label.digits)))
      return true;
  }
  if (before.is("where") || before.text.ends_with(" where")) return true;
  const bool verb =
      after.is(Sense::is) || after.is(Sense::not_) ||
      after.any_of({"goes",     "went",   "has",  "had",   "in",        "isn't", "wasn't",
                    "into",     "weighs", "came", "needs", "should be", "looks", "turned out",
                    "measures", "to",     "is a", "is an", "was a",     "was an"});
  if (opens(draft, i) && after.is(Sense::is) && draft.at(label.last + 2).is(Sense::pick))
    return true;
  // "twenty and twenty one are in bags …"
  if (bags && opens(draft, i) && after.is("and") && draft.at(label.last + 2).number()) return true;
  // "four twenty four's the pegmatite"
  const bool contracted =
      draft.at(label.last).possessive &&
      (bags || is_known(draft, label.digits) || draft.at(label.last + 2).rock());
  if (opens(draft, i) && contracted) return true;
  if (opens(draft, i) && verb) {
    const bool known = is_known(draft, label.digits);
    if (bags || known || label.digits == draft.context.last_sample) return true;
    // "eleven is three inches by two": measured, so a sample.
    if (draft.any(label.last + 1, draft.sentence_end(i), [](const Item& item) {
          return item.is(Sense::unit) || item.is(Sense::compare) || item.is(Sense::buried) ||
                 item.is(Sense::burial);
        }))
      return true;
  }
  if (bags && opens(draft, i) &&
      (after.is(Sense::bag) || after.rock() || after.comma() || after.is(Sense::compare) ||
       after.is(Sense::colour) || (after.stop() && label.last + 2 < draft.size())))
    return true;
  // "three hundred and one, that's a lump of gneiss, bag seventy"
  if (bags && opens(draft, i) && after.is(Sense::restart) && label.digits.size() >= 2) return true;
  // "eighty one, gabbro, fist sized": the first one of all
  if (draft.context.last_sample.empty() && label.digits.size() >= 2 && described &&
      opens(draft, i) && after.mark() && draft.at(label.last + 2).rock())
    return true;
  if (bags && (before.is("of") || before.is("for")) &&
      draft.any(i - 3, i - 1, [](const Item& item) {
        return item.is(Sense::piece) || item.is(Sense::bag) || item.any_of({"half", "part"});
      }))
    return true;
  if (before.is(Sense::pick) && (after.mark() || after.is(Sense::bag))) return true;
  // "pair done on one"
  if (photos && before.is(Sense::finished) &&
      (before.text.ends_with(" on") || before.text.ends_with(" with")))
    return true;
  if (before.comma() && draft.at(i - 2).is(Sense::pick) && (after.mark() || after.is(Sense::bag)))
    return true;
  return false;
}

/// Whether the note speaks of pictures.
bool of_photos(const Draft& draft) {
  bool photos = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
           item.is(Sense::pair) ||
           item.any_of({"photographed", "documented", "photographs", "photos", "pictures", "frames",
                        "camera"});
  });
  // "after of nine", "after on nine"
  for (At i = 0; i < draft.size(); ++i) {
    const bool after = draft.at(i).is(Sense::after_weak) &&
                       (draft.at(i + 1).is("of") ||
                        (draft.at(i + 1).is("on") && draft.at(i + 2).number() &&
                         !draft.at(i + 3).rock() && !draft.at(i + 3).is(Sense::piece)));
    photos = photos || after || picture_set(draft, i);
  }
  return photos;
}

}  // namespace

void find_bare(Draft& draft) {
  const bool photos = of_photos(draft);
  const bool bags = draft.has_label(Of::bag);
  for (At i = 0; i < draft.size(); ++i) {
    if (!draft.at(i).number() || draft.at(i).used) continue;
    Label label = read_label(draft, i);
    const Item& verb = draft.at(label.last + 1);
    if (label.digits.size() > 1 && opens(draft, i) &&
        (verb.is(Sense::not_) || (verb.is(Sense::is) && !verb.any_of({"are", "were"}))))
      label.digits = completed(draft, label.digits);
    if (!label.digits.empty() && names_sample(draft, i, label, photos, bags)) {
      const bool fresh = bags && comes_next(draft, label.digits);
      add(draft, Of::sample, i, label, i, points_at(draft.at(i - 1)) && !fresh,
          !draft.at(i - 1).is("as"));
      if (photos || bags) {
        for (At k = label.last; draft.at(k + 1).is("and") && draft.at(k + 2).number();) {
          const Label next = read_label(draft, k + 2);
          const Item& beyond = draft.at(next.last + 1);
          const bool ends = beyond.mark() || beyond.is(Sense::is) ||
                            beyond.any_of({"have", "had", "have been", "both", "got"}) ||
                            beyond.is(Sense::filler) || beyond.is(Sense::finished) ||
                            photo_item(beyond);
          if (next.digits.empty() || !ends) break;
          add(draft, Of::sample, k + 2, next, k + 2, points_at(draft.at(i - 1)), true);
          k = next.last;
        }
      }
    }
  }
}

}  // namespace stonecall::reading::labels
