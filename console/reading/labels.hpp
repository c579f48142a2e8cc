#pragma once

#include <string>

#include "console/reading/recognisers.hpp"

/// How field numbers and bag numbers are found: the steps in their order, and the looks around an
/// item that they share.
namespace stonecall::reading::labels {

using At = Draft::At;
using Of = LabelSaid::Of;

/// Words that sound like digits become digits where they make a number of the numbering.
void hear_digits(Draft& draft);

/// "Sample nine", "bag forty", "number eleven", "rock ten".
void find_named(Draft& draft);

/// "B sixteen", "S one": of a bag or a sample by its number.
void find_lettered(Draft& draft);

/// "Goes in thirty four", a number that goes on with the bags.
void find_bags(Draft& draft);

/// A bare number that stands for a sample.
void find_bare(Draft& draft);

/// "for", "on", "in": what leads to the number of something that is known.
bool points_at(const Item& item);

/// A picture, or a word for one.
bool photo_item(const Item& item);

/// "All three pictures for five", "full set on seven": the pair, the down-sun and the one
/// afterwards, said as one.
bool picture_set(const Draft& draft, At i);

/// Whether the number is a time of day, or of minutes and the like.
bool of_time(const Draft& draft, At i, const Label& label);

/// Whether nothing but openers stands before item i.
bool opens(const Draft& draft, At i);

/// "Thirty seven: komatiite, fist size", "thirty six a quarter in the ground": a number that begins
/// the note, goes on with the field numbers, and something said of a sample behind it. Not a count
/// ("thirty basalts, six schists").
bool opens_with_next(const Draft& draft, At i, const Label& label);

/// "That'll be sixty two", "so call it seventy", "this is sixty six": what gives a thing its
/// number.
bool gives_number(const Item& item);

/// Whether a bag is given right behind item i, as for a new sample.
bool bag_follows(const Draft& draft, At i);

/// Whether a sample has that field number.
bool is_known(const Draft& draft, const std::string& digits);

/// A number of two digits or more close to the last sample's that no sample has yet.
bool comes_next(const Draft& draft, const std::string& digits);

/// Past the letters of a label to its number; `i` itself where no such label stands there.
At skip_letters(const Draft& draft, At i);

/// Takes the number at item `number` for a label; it begins with the naming word at `first`.
void add(Draft& draft, Of of, At first, const Label& label, At number, bool reference,
         bool bare = false);

/// "Stereo for four", where three oh four has been taken: only the last digits are said. The whole
/// number, or the digits as they are.
std::string completed(const Draft& draft, const std::string& digits);

}  // namespace stonecall::reading::labels
