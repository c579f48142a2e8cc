#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "console/reading/recognisers.hpp"

/// How what was said wrong is put right. Only corrections*.cpp use it.
namespace stonecall::reading::corrections {

using At = Draft::At;
using Of = LabelSaid::Of;

/// Something that can be said wrong.
struct Value {
  enum class Type { none, bag, sample, rock, station, number };
  Type type = Type::none;
  At first = 0;
  At last = 0;
  std::size_t label = 0;  ///< of a bag or sample, its place in draft.labels
};

/// "Strike", "scratch", "cancel": what stands behind is void.
bool strikes(const Item& item);

/// Says that something is put right.
bool cue(const Item& item);

/// "no, thirty two", "no it's sandstone": a "no" that puts right instead of denying.
bool no_cue(const Draft& draft, At i);

/// The bare number becomes a label of the same sort as the one it puts right.
void make_label(Draft& draft, Value& value, Of of);

Of label_sort(Value::Type type);
bool is_label(Value::Type type);

/// The steps of one note, in the order of run().
class Corrections {
 public:
  explicit Corrections(Draft& draft);

  void run();

 private:
  // Bare numbers that turn out to be of a bag or a sample (corrections_naming.cpp).

  /// "Scratch that last bag, it's one one eight": the number is of the sort that is struck.
  void name_struck();

  /// "Thirteen was wrong", "I called fifteen a wacke": a bare number that a sample has.
  void name_doubted();

  /// How many kinds the note names.
  std::size_t kinds_named() const;

  /// "Make five granite", "log five as granite", "put five down as granite": a verb of recording,
  /// the number, and its kind.
  bool recorded_as_another(const Value& number) const;

  /// "It's forty two, not forty one": bare numbers that put a bag or a sample right are of the
  /// numbering that they are nearest to.
  void name_by_series();

  /// "Correction, eighty seven for the slate": the one number, and whose it is.
  bool number_for_kind() const;

  /// Numbers in the note are of rocks or of their size, not of their labels.
  bool counts_or_measures() const;

  /// After "should be", "to", "is": a number of the same sort as the label before.
  void name_new_number(At cue_at);

  // What is said not to be so (corrections_denied.cpp).

  /// The bag that was given that number earlier in the note; null: none.
  const Value* said_as_bag(const Value& number) const;

  /// "Bag ten has a hole, so it's bag eleven now": the one that cannot be used is void.
  void give_up_bag();

  /// "bag thirty two not thirty one", "not fourteen", "isn't granite".
  void deny();

  /// "I gave three oh three as bag fifty three but it went into fifty seven": what was said before.
  void deny_before_but(At i);

  /// "That's sixty eight, we have a sixty seven already": a field number that is taken.
  void deny_taken(At i);

  /// "Sample fifteen, basalt to granite": the first of the two kinds.
  void deny_one_of_two(At i);

  /// "Disregard what I said about granite": nothing is said instead.
  void deny_what_was_said(At i);

  /// "I thought eighteen was slate": the kind, where a sample is named between; −1: none.
  At thought_to_be(At i) const;

  // What is said wrong and put right in the same note (corrections_inside.cpp).

  /// "Other way round", "I take that back": what stands before is void.
  void take_back();

  /// "Bag thirty one, no, thirty two": the first is void.
  void replace_inside();

  /// "I said it was three quarters under, it was more like half": how much was said, and how much
  /// it is.
  bool replace_amount();
  void replace(Value& before, At cue_at);
  void replace_number(Value& after, At cue_at);

  // What an earlier note said wrong (corrections_earlier.cpp).

  /// "I mixed them up, two oh three has the quartz and two oh two the jasper": two bags, and whose
  /// each is.
  bool bags_of_two();

  /// The change of an earlier note that this one is about, if it is about one.
  std::optional<PutRight> change_of_earlier();

  /// "The number of that last sample is seven"
  std::optional<PutRight> number_of_last() const;

  /// "I have a twenty four already, so yours is twenty five"
  std::optional<PutRight> number_of_somebody() const;

  /// The new value of each sort, where one is given. `about`: the sample that is named.
  std::optional<PutRight> new_bag(bool strong, bool known, const std::optional<std::string>& about);
  std::optional<PutRight> new_station(const std::optional<std::string>& about);
  const std::string& name_of(const Item& station) const;

  /// "Correction, we are at the ford still": nothing else is put right.
  const Item* place_put_right() const;
  std::optional<PutRight> new_rock(bool corrects, bool has_sample,
                                   const std::optional<std::string>& about);
  std::optional<PutRight> new_number(bool strong);

  /// "I'm gonna call this sample one": a number that the note itself gives out.
  bool announced(const std::string& digits) const;

  // Looks that these share (corrections.cpp).

  At kind_behind(At i) const;

  /// "No, bag thirty one", "sorry that's four fifteen", "make it forty": the note begins with the
  /// putting right, so that it is of an earlier one.
  bool opens_with_correction() const;
  Value* value_at(At first, At last);
  Value* value_before(At i, Value::Type type);
  Value* label_before(At i);
  bool known_sample(const std::string& digits) const;
  std::optional<LabelSaid> first_sample() const;

  Draft& draft_;
  std::vector<Value> values_;
  bool denied_ = false;
  bool replaced_ = false;
  bool struck_ = false;   ///< "scratch that bag"
  bool opens_ = false;    ///< it begins with the putting right
  bool earlier_ = false;  ///< it speaks of what was said before
};

}  // namespace stonecall::reading::corrections
