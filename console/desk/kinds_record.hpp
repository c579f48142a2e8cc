#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/desk/clock_text.hpp"
#include "console/desk/theme.hpp"
#include "console/desk/view.hpp"

/// All that is known of one kind, line by line: its samples with what they lack, the places where
/// it is or is expected, what was said of it.
namespace stonecall::desk {

/// Lines that belong to one entry (a sample with its gaps) are walked over as one.
struct RecordLine {
  std::string left, text, right;
  Ink ink = Ink::ink, right_ink = Ink::soft;
  std::string entry;  ///< which it belongs to; empty: the name of a part
  std::optional<protocol::Uuid> event;
  std::optional<std::string> sample, station;
};

/// Of a view with a picture. `here`: the station at which gaps are urgent; `unfolded`: the sample
/// whose checklist is told item by item.
std::vector<RecordLine> kind_record(const View& view, const std::string& rock,
                                    const ClockText& clock, const std::string& here,
                                    const std::optional<std::string>& unfolded);

/// "3 bagged: Ford 1, Terrace 2. First seen 0:14."
std::string kind_summary(const View& view, const std::string& rock, const ClockText& clock);

}  // namespace stonecall::desk
