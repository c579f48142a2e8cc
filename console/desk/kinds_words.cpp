#include "console/desk/kinds_words.hpp"

#include <algorithm>
#include <ranges>

#include <fmt/format.h>

#include "console/desk/chart_painter.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/section.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::desk {
namespace {

using advise::Ground;

constexpr Font sentence_font{Type::text};
constexpr std::string_view not_seen_yet = "Not seen yet";
constexpr std::string_view does_not_fit = "Does not fit together";
constexpr std::size_t most_warnings = 3;
// Design pixels.
constexpr float rests_gap = 12, warned_gap = 8;
constexpr float least_growth = 64;  // height of a curve that can still be made out

std::string figure_text(const advise::Figure& f, int digits) {
  return fmt::format("{:.{}f} ({:.{}f}–{:.{}f})", f.mean, digits, f.low, digits, f.high, digits);
}

std::string in_ten_minutes(const advise::Figure& f) {
  return fmt::format("{:.1f} ({:.0f}–{:.0f})", f.mean, f.low, f.high);
}

std::string disagreement_text(const advise::Disagreement& d, const ClockText& clock) {
  return fmt::format("{} said {} {} ({}); the counts say {:.0f}–{:.0f} %.", d.caller, d.rock,
                     range_text({d.said_low * 100, d.said_high * 100}), clock.minutes(d.at),
                     d.counts_low * 100, d.counts_high * 100);
}

/// What wants a look: spoken shares against the counts, and what was flagged, a bag given twice or
/// a sample told differently. The newest of each; how many earlier ones there are.
struct Warnings {
  std::vector<std::string> words;
  std::size_t earlier = 0;
};

Warnings warnings_of(const Ground& ground, const picture::Picture& picture,
                     const ClockText& clock) {
  using What = picture::Flag::What;
  const auto wants_eyes = [](const picture::Flag& flag) {
    return flag.what != What::outside_vocabulary && flag.what != What::unplanned_station;
  };
  Warnings out;
  auto newest = [&](auto&& all, std::size_t most, auto&& words) {
    const auto count = static_cast<std::size_t>(std::ranges::distance(all));
    const std::size_t skipped = count > most ? count - most : 0;
    out.earlier += skipped;
    for (const auto& each : all | std::views::drop(skipped)) out.words.push_back(words(each));
  };
  auto flagged = picture.flags | std::views::filter(wants_eyes);
  const std::size_t of_flags = flagged.begin() == flagged.end() ? 0 : 1;
  newest(ground.disagreements, most_warnings - of_flags,
         [&](const advise::Disagreement& d) { return disagreement_text(d, clock); });
  newest(flagged, most_warnings - out.words.size(),
         [](const picture::Flag& flag) { return flag.text + "."; });
  return out;
}

/// What is said of kinds not seen yet.
std::vector<std::pair<Ink, std::string>> unseen_sentences(const Ground& ground) {
  if (!ground.unseen)
    return {{Ink::soft,
             "No basis: nothing was counted without choosing. Ask for a tally, “count ten "
             "underfoot”."}};
  const auto& unseen = *ground.unseen;
  const auto& soon = unseen.new_in_ten_minutes;
  return {
      {Ink::ink, fmt::format("Next rock is a new kind: {}. New kinds in ten minutes: {}.",
                             plates::share_text(unseen.next_is_new),
                             soon ? in_ten_minutes(*soon) : "no basis")},
      {Ink::soft, fmt::format("To meet any kind of 5 % or more with 95 %: {} looked at; {} done.",
                              unseen.needed_for_five_percent, unseen.counted)}};
}

/// The same in one line of this width.
std::string unseen_in_brief(const Ground& ground, const Fonts& fonts, float width) {
  if (!ground.unseen) return "no basis; ask for a tally, “count ten underfoot”";
  const std::string next = plates::share_text(ground.unseen->next_is_new);
  const auto& soon = ground.unseen->new_in_ten_minutes;
  if (!soon) return "next rock " + next;
  const std::string later = in_ten_minutes(*soon);
  const std::string words = "next rock " + next + ", in ten minutes " + later;
  return fonts.width(sentence_font, words) <= width ? words
                                                    : "next " + next + ", in 10 min " + later;
}

void add_sentence(std::string& to, const std::string& sentence) {
  to += (to.empty() ? "" : " ") + sentence;
}

/// The curve of kinds met, in the room from `top` on.
void draw_growth(const advise::NotSeenYet& unseen, Canvas& canvas, float top, float room) {
  if (room < canvas.px(least_growth) || unseen.growth.size() < 2) return;
  const Rect& area = canvas.area();
  const float scale = canvas.fonts().scale();
  charts::Growth plate = plates::growth_plate(unseen);
  plate.width = area.w / scale;
  plate.height = std::min(room / scale, std::max(220.0F, area.h / scale * 0.26F));
  paint(canvas, charts::growth(plate, measure_of(canvas.fonts())), {area.x, top + canvas.px(4)});
}

}  // namespace

KindsWords::KindsWords(const Canvas& canvas, const Ground& ground, const picture::Picture& picture)
    : canvas_(canvas),
      ground_(ground),
      rests_(plates::basis_text(ground.basis)),
      unseen_(unseen_sentences(ground)) {
  Warnings warnings = warnings_of(ground, picture, canvas.clock());
  warned_ = std::move(warnings.words);
  warned_earlier_ = warnings.earlier;
  rests_lines_ = lines_of(rests_);
  for (const auto& [ink, sentence] : unseen_) unseen_lines_ += lines_of(sentence);
  for (const std::string& words : warned_) warned_lines_ += lines_of(words);
}

std::size_t KindsWords::lines_of(const std::string& text) const {
  return wrap(canvas_.fonts(), sentence_font, text, canvas_.area().w).size();
}

float KindsWords::lines_height(std::size_t lines) const {
  return static_cast<float>(lines) * canvas_.fonts().line_height(sentence_font.type);
}

float KindsWords::rests_height(Said said, std::size_t at_least) const {
  if (said == Said::not_at_all) return 0;
  const std::size_t lines = said == Said::brief ? 1 : std::max(at_least, rests_lines_);
  return lines_height(lines) + canvas_.px(rests_gap);
}

float KindsWords::unseen_height(Said said, std::size_t at_least) const {
  if (said == Said::not_at_all) return 0;
  if (said == Said::brief) return canvas_.px(brief_section);
  return canvas_.px(section_head) + lines_height(std::max(unseen_lines_, at_least)) - canvas_.px(5);
}

float KindsWords::warned_height(Said said) const {
  if (said == Said::not_at_all || warned_.empty()) return 0;
  if (said == Said::brief) return canvas_.px(warned_gap + brief_section);
  return canvas_.px(warned_gap + section_head + 4) + lines_height(warned_lines_);
}

float KindsWords::height(const Below& way) const {
  return rests_height(way.rests) + unseen_height(way.unseen) + warned_height(way.warned);
}

void KindsWords::draw_rests(Said said, Canvas& canvas, float top) const {
  const Rect& area = canvas.area();
  const Ink ink = ground_.basis.any() ? Ink::soft : Ink::rust;
  const ImVec2 at{area.x, top + canvas.px(14)};
  if (said == Said::whole) {
    canvas.paragraph(at, sentence_font, ink, rests_, area.w);
  } else if (said == Said::brief) {
    const std::string cut = ellipsis(canvas.fonts(), sentence_font, rests_, area.w);
    canvas.text(at, sentence_font, ink, cut);
    if (cut != rests_) canvas.tip({area.x, top, area.w, canvas.px(20)}, rests_);
  }
}

void KindsWords::draw_unseen(Said said, Said warned, Canvas& canvas, float top) const {
  if (said == Said::not_at_all) return;
  const Rect& area = canvas.area();
  if (said == Said::brief) {
    std::string in_full;
    for (const auto& [ink, sentence] : unseen_) add_sentence(in_full, sentence);
    const float room = brief_section_room(canvas, not_seen_yet);
    draw_brief_section(canvas, top, not_seen_yet, Ink::ink,
                       unseen_in_brief(ground_, canvas.fonts(), room), in_full);
    return;
  }
  const auto& unseen = ground_.unseen;
  float y = draw_section(
      canvas, top, not_seen_yet,
      unseen ? "Chao1 at least " + figure_text(unseen->chao1, 1) + " kinds" : std::string());
  for (const auto& [ink, sentence] : unseen_)
    y += canvas.paragraph({area.x, y + canvas.px(11)}, sentence_font, ink, sentence, area.w);
  if (unseen)
    draw_growth(*unseen, canvas, y, area.bottom() - warned_height(warned) - y - canvas.px(6));
}

void KindsWords::draw_warned(Said said, Canvas& canvas) const {
  if (warned_.empty() || said == Said::not_at_all) return;
  const Rect& area = canvas.area();
  const float top = area.bottom() - warned_height(said) + canvas.px(warned_gap);
  if (said == Said::brief) {
    std::string in_full;
    for (const std::string& each : warned_) add_sentence(in_full, each);
    draw_brief_section(canvas, top, does_not_fit, Ink::rust, warned_.back(), in_full);
    return;
  }
  float y = draw_section(canvas, top, does_not_fit,
                         warned_earlier_ > 0 ? fmt::format("{} more, F12", warned_earlier_) : "",
                         Ink::rust);
  for (const std::string& each : warned_)
    y += canvas.paragraph({area.x, y + canvas.px(11)}, sentence_font, Ink::rust, each, area.w);
}

std::string same_ground_text(const advise::Assessment& a) {
  if (a.compared_with.empty()) return {};
  if (!a.same_ground)
    return "Same ground as " + a.compared_with + "? No basis: both need a count or shares.";
  double p = *a.same_ground;
  std::string figure = p < 0.01 ? "under 0.01" : p > 0.99 ? "over 0.99" : fmt::format("{:.2f}", p);
  std::string words = p >= 0.8   ? "Same ground as "
                      : p <= 0.2 ? "Not the ground of "
                                 : "Perhaps the same ground as ";
  return words + a.compared_with + ": P(same) " + figure;
}

}  // namespace stonecall::desk
