#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/desk/canvas.hpp"
#include "console/desk/view.hpp"

namespace stonecall::desk {

/// What the advice says: the call, its reason, how sure, with moments by the clock.
struct CardText {
  std::string sentence, reason, sureness;
  bool act = false;  ///< there is something to call
};

/// What is advised now; where nothing is, why not.
CardText advised_card(const View& view, const ClockText& clock);
/// What is advised at the same moment with all that was known at the end; none where the end is not
/// laid beside.
std::optional<CardText> end_card(const View& view, const ClockText& clock);

/// The words of the advice in a box, laid out once for its width: what is measured is what is
/// drawn.
class Card {
 public:
  /// `width` of the box, in screen pixels; `head`: the type of the call itself.
  Card(const Canvas& canvas, const CardText& text, float width, Type head = Type::title);

  float height() const { return height_; }  ///< at which nothing of it is cut, screen pixels

  /// In a box of its width. In one that is lower than `height` it says how much has room, and all
  /// of it on a tip. What is no longer current stands back: no bar, all in soft ink, within a
  /// hairline.
  void draw(Canvas& canvas, Rect box, bool current) const;

 private:
  struct Paragraph {
    Font font;
    std::string text;
    std::size_t soft_from;  ///< bytes from there on are in soft ink
    std::vector<WrappedLine> lines;
  };
  std::vector<Paragraph> paragraphs_;
  std::string whole_;  ///< for the tip
  bool act_ = false;
  float height_ = 0;
};

}  // namespace stonecall::desk
