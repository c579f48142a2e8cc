#pragma once

#include <string>
#include <string_view>

#include "console/picture/picture.hpp"

/// Which lines of Heard are shown.
namespace stonecall::desk {

struct HeardFilter {
  enum class Show { all, notes, samples, counts, moves, calls, remarks, changes };
  static constexpr int kinds = 8;
  Show show = Show::all;
  std::string speaker;  ///< empty: all
  std::string search;   ///< empty: all; compared without regard to case (ASCII)
  std::string station;  ///< empty: all; else what was said there, or of it
  bool operator==(const HeardFilter&) const = default;
  bool any() const { return *this != HeardFilter{}; }
};

/// A note passes also for what was read from it.
bool passes(const HeardFilter& filter, const picture::HeardLine& line,
            const picture::Picture& picture);

/// The kind of line that an event makes.
HeardFilter::Show show_of(const protocol::Event& event);
std::string_view words_of(HeardFilter::Show show);

/// "notes, FIELD-1, at Ford, “basalt”".
std::string filter_words(const HeardFilter& filter);

// By key or press from one to the next, after the last to all of them.
void next_kind(HeardFilter& filter);
void next_speaker(const picture::Picture& picture, HeardFilter& filter);
/// The stations in the order in which the party came to them.
void next_station(const picture::Picture& picture, HeardFilter& filter);

/// Where `what` stands in a text, from a byte on, without regard to case (ASCII); npos: nowhere.
std::size_t find_fold(std::string_view in, std::string_view what, std::size_t from = 0);

}  // namespace stonecall::desk
