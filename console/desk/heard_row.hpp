#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "console/desk/canvas.hpp"
#include "console/desk/heard_words.hpp"
#include "console/picture/alterations.hpp"

/// A line of Heard as a row: when, who, the words, and below them what was read from it.
namespace stonecall::desk {

/// Where the parts of a row stand, from the row's left upper corner. Screen pixels.
struct HeardColumns {
  float speaker = 0, text = 0, text_width = 0;  ///< the time stands at 0
  bool stacked = false;                         ///< speaker below the time
};
HeardColumns heard_columns(const Canvas& canvas, float width);

/// A row as laid out: what is measured is what is drawn.
struct HeardRow {
  struct Chip {
    std::string words;
    const Proposal* proposal = nullptr;  ///< to be decided; null: a fact
    Rect place;                          ///< from the row's left upper corner
  };
  std::string text;
  std::vector<WrappedLine> lines;
  std::vector<Chip> chips;
  float hint_baseline = 0;        ///< 0: none
  std::string aside;              ///< behind the last word, or below where it has no room there
  ImVec2 aside_at{};              ///< its baseline, from the text's left upper corner
  std::vector<std::string> past;  ///< what was done to it, a line each
  float past_top = 0;
  float height = 0;
};

/// `past`: what was done to the line, told of a chosen one.
HeardRow lay_row(const View& view, const picture::HeardLine& line, const HeardColumns& columns,
                 const Canvas& canvas, bool chosen, std::span<const picture::Alteration> past,
                 LookedUp& looked_up);

/// How a row is to be drawn.
struct RowLook {
  bool chosen = false;
  std::size_t picked = 0;   ///< which of its proposals the keys decide, where it is chosen
  std::string_view search;  ///< words to be marked; empty: none
};

/// At its left upper corner. Of a row that reaches out of the list only whole lines are drawn: half
/// letters say nothing.
void draw_row(const View& view, const picture::HeardLine& line, const HeardRow& row,
              const HeardColumns& columns, ImVec2 at, const Rect& list, const RowLook& look,
              Canvas& canvas);

/// Which of its proposals a point is on; none: on no proposal.
std::optional<std::size_t> proposal_at(const HeardRow& row, ImVec2 at, ImVec2 point);

}  // namespace stonecall::desk
