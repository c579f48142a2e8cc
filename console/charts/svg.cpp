#include "console/charts/svg.hpp"

#include <cassert>
#include <cctype>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

#include "console/charts/decimate.hpp"
#include "console/charts/mark.hpp"

namespace stonecall::charts {
namespace {

/// At most two decimals and no trailing noughts: shorter, and the same on each machine.
std::string number(double v) {
  std::string text = fmt::format("{:.2f}", v);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

bool finite(double v) {
  return std::isfinite(v) && std::abs(v) < 1e7;
}
bool finite(Point p) {
  return finite(p.x) && finite(p.y);
}
bool finite(const Box& b) {
  return finite(b.x) && finite(b.y) && finite(b.w) && finite(b.h);
}

/// Length of the UTF-8 sequence at `i`; 0 where it is broken.
std::size_t sequence(std::string_view text, std::size_t i) {
  auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
  unsigned char lead = byte(i);
  if (lead < 0x80) return 1;
  std::size_t length = lead >= 0xC2 && lead < 0xE0   ? 2
                       : lead >= 0xE0 && lead < 0xF0 ? 3
                       : lead >= 0xF0 && lead < 0xF5 ? 4
                                                     : 0;
  if (length == 0 || i + length > text.size()) return 0;
  for (std::size_t k = 1; k < length; ++k)
    if ((byte(i + k) & 0xC0) != 0x80) return 0;
  unsigned char second = byte(i + 1);
  bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
  bool surrogate = lead == 0xED && second >= 0xA0;
  bool too_high = lead == 0xF4 && second >= 0x90;
  bool no_character = lead == 0xEF && second == 0xBF && byte(i + 2) >= 0xBE;
  return overlong || surrogate || too_high || no_character ? 0 : length;
}

class Writer {
 public:
  explicit Writer(const Palette& palette) : palette_(palette) {}

  std::string text;

  void operator()(const Line& line) {
    if (!finite(line.from) || !finite(line.to)) return;
    put("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>\n", number(line.from.x),
        number(line.from.y), number(line.to.x), number(line.to.y), stroke(line.stroke));
  }

  void operator()(const Polyline& line) {
    auto points = decimated(line.points);
    std::erase_if(points, [](Point p) { return !finite(p); });
    if (points.size() < 2) return;
    put("<polyline points=\"{}\" fill=\"none\"{} stroke-linejoin=\"round\"/>\n", list(points),
        stroke(line.stroke));
  }

  void operator()(const Band& band) {
    std::vector<Point> outline;
    for (const auto& s : band.slices)
      if (finite(s.x) && finite(s.top) && finite(s.bottom)) outline.push_back({s.x, s.top});
    if (outline.size() < 2) return;
    for (auto s = band.slices.rbegin(); s != band.slices.rend(); ++s)
      if (finite(s->x) && finite(s->top) && finite(s->bottom)) outline.push_back({s->x, s->bottom});
    put("<polygon points=\"{}\" fill=\"{}\"/>\n", list(outline), hex(palette_.of(band.fill)));
  }

  void operator()(const Block& block) {
    if (!finite(block.box) || block.box.w < 0 || block.box.h < 0) return;
    put("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"{}/>\n", number(block.box.x),
        number(block.box.y), number(block.box.w), number(block.box.h),
        block.fill ? hex(palette_.of(*block.fill)) : "none", block.edge ? stroke(*block.edge) : "");
  }

  void operator()(const Mark& mark) {
    if (!finite(mark.at) || !finite(mark.size)) return;
    MarkShape shape = mark.series ? series_shape(*mark.series) : mark.shape;
    Colour colour = mark.series ? series_colour(*mark.series) : mark.colour;
    std::string edge = hex(palette_.of(colour));
    std::string fill = mark.hollow ? hex(palette_[Tone::ground])
                       : colour.series
                           ? hex(palette_.series[*colour.series % palette_.series.size()])
                           : edge;
    double edge_width = mark.hollow ? 1.5 : 1;
    if (shape == MarkShape::circle) {
      put("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"{}\"/>\n",
          number(mark.at.x), number(mark.at.y), number(mark.size / 2), fill, edge,
          number(edge_width));
      return;
    }
    auto outline = mark_outline(shape, mark.size);
    for (Point& p : outline) p = {p.x + mark.at.x, p.y + mark.at.y};
    put("<polygon points=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"{}\"/>\n", list(outline),
        fill, edge, number(edge_width));
  }

  void operator()(const Label& label) {
    if (!finite(label.at) || label.text.empty()) return;
    std::string look;
    if (label.anchor == Anchor::middle) look += " text-anchor=\"middle\"";
    if (label.anchor == Anchor::end) look += " text-anchor=\"end\"";
    if (label.weight == TextWeight::medium) look += " font-weight=\"500\"";
    if (label.weight == TextWeight::semibold) look += " font-weight=\"600\"";
    if (label.halo)
      look += fmt::format(
          " stroke=\"{}\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
          hex(palette_[Tone::ground]));
    put("<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{}>{}</text>\n", number(label.at.x),
        number(label.at.y), number(pixels(label.size)), hex(palette_.of(label.colour)), look,
        xml_escaped(label.text));
  }

 private:
  template <class... Args>
  void put(fmt::format_string<Args...> format, Args&&... args) {
    fmt::format_to(std::back_inserter(text), format, std::forward<Args>(args)...);
  }

  std::string stroke(const Stroke& s) const {
    double width = finite(s.width) && s.width > 0 ? s.width : 1;
    std::string look = fmt::format(" stroke=\"{}\" stroke-width=\"{}\"", hex(palette_.of(s.colour)),
                                   number(width));
    if (s.dash == Dash::dashed) look += " stroke-dasharray=\"5 3\"";
    if (s.dash == Dash::dotted) look += " stroke-dasharray=\"1.5 3\"";
    return look;
  }

  static std::string list(const std::vector<Point>& points) {
    std::string text;
    for (Point p : points) {
      if (!text.empty()) text += ' ';
      text += number(p.x) + ',' + number(p.y);
    }
    return text;
  }

  const Palette& palette_;
};

}  // namespace

std::string xml_escaped(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    std::size_t length = sequence(text, i);
    if (length == 0) {
      out += "\uFFFD";
      ++i;
      continue;
    }
    auto c = static_cast<unsigned char>(text[i]);
    if (length > 1) {
      out += text.substr(i, length);
    } else if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else if (c == '"') {
      out += "&quot;";
    } else if (c == '\'') {
      out += "&#39;";
    } else if (c == '\n' || c == '\t' || c == '\r') {
      out += ' ';
    } else if (c < 0x20 || c == 0x7F) {
      out += "\uFFFD";
    } else {
      out += text[i];
    }
    i += length;
  }
  return out;
}

std::string svg(const Chart& chart, const Palette& palette, const SvgOptions& options) {
  std::string id;
  for (char c : options.id)
    if (std::isalnum(static_cast<unsigned char>(c)) || c == '-') id += c;
  if (id.empty()) id = "chart";
  double w = finite(chart.width) && chart.width > 0 ? chart.width : 1;
  double h = finite(chart.height) && chart.height > 0 ? chart.height : 1;

  Writer writer{palette};
  if (options.standalone) writer.text = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  writer.text += fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} "
      "{1}\" "
      "{2} font-family=\"Inter, 'Helvetica Neue', Arial, sans-serif\">\n",
      number(w), number(h),
      options.in_words ? std::string("aria-hidden=\"true\"")
                       : fmt::format("role=\"img\" aria-labelledby=\"{0}-title {0}-desc\"", id));
  if (!options.in_words)
    writer.text +=
        fmt::format("<title id=\"{0}-title\">{1}</title>\n<desc id=\"{0}-desc\">{2}</desc>\n", id,
                    xml_escaped(chart.title), xml_escaped(chart.description));
  if (options.standalone) writer(Block{{0, 0, w, h}, Colour{Tone::ground, {}}, {}});
  for (const Item& item : chart.items) std::visit(writer, item);
  writer.text += "</svg>\n";
  return writer.text;
}

}  // namespace stonecall::charts
