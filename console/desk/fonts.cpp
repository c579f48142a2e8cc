#include "console/desk/fonts.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cctype>
#include <cmath>
#include <limits>
#include <memory>
#include <span>

#include <ft2build.h>
#include <imgui.h>
#include <imgui_freetype.h>
#include FT_FREETYPE_H

#include "protocol/utf8.hpp"

extern "C" {
extern const unsigned char stonecall_inter_regular_begin[], stonecall_inter_regular_end[];
extern const unsigned char stonecall_inter_medium_begin[], stonecall_inter_medium_end[];
extern const unsigned char stonecall_inter_semibold_begin[], stonecall_inter_semibold_end[];
}

namespace stonecall::desk {
namespace {

using Bytes = std::span<const unsigned char>;

Bytes face_file(Weight weight) {
  switch (weight) {
    case Weight::regular:
      return {stonecall_inter_regular_begin, stonecall_inter_regular_end};
    case Weight::medium:
      return {stonecall_inter_medium_begin, stonecall_inter_medium_end};
    case Weight::semibold:
      return {stonecall_inter_semibold_begin, stonecall_inter_semibold_end};
  }
  return {};
}

// The atlas keeps a pointer to this until it is built.
constexpr ImWchar signs[] = {0x0020, 0x017F,  // Latin and its accents
                             0x0370, 0x03FF,  // Greek
                             0x0400, 0x045F,  // Cyrillic
                             0x2010, 0x2044,  // dashes, quotes, ellipsis
                             0x2080, 0x2089,  // lowered digits
                             0x2190, 0x2193,  // arrows
                             0x2206, 0x2215, 0x2248, 0x2248, 0x2260, 0x2265, 0xFFFD, 0xFFFD, 0};
constexpr ImWchar figure_signs[] = {0x0020, 0x007E, 0x2013, 0x2014, 0x2212, 0x2212, 0};

struct Closer {
  void operator()(FT_Library library) const { FT_Done_FreeType(library); }
  void operator()(FT_Face face) const { FT_Done_Face(face); }
};
using Library = std::unique_ptr<FT_LibraryRec_, Closer>;
using Face = std::unique_ptr<FT_FaceRec_, Closer>;

Face open_face(const Library& library, Weight weight) {
  Bytes file = face_file(weight);
  FT_Face face = nullptr;
  [[maybe_unused]] auto error =
      FT_New_Memory_Face(library.get(), file.data(), static_cast<FT_Long>(file.size()), 0, &face);
  assert(!error && "the embedded face is broken");
  return Face{face};
}

char32_t next_sign(std::string_view text, std::size_t& at) {
  const auto letter = protocol::utf8::letter_at(text, at);
  at += letter.length;
  return letter.point == 0 ? U'\uFFFD' : letter.point;
}

bool is_digit(char32_t sign) {
  return sign >= '0' && sign <= '9';
}

}  // namespace

void Fonts::build(ImFontAtlas& atlas, float scale) {
  assert(scale > 0.1F && scale < 20);
  scale_ = scale;
  atlas.Clear();
  atlas.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  // "Bitmap" makes the size that of the em; otherwise the builder takes it for ascender to
  // descender and cuts the fraction off.
  atlas.FontBuilderFlags =
      ImGuiFreeTypeBuilderFlags_LightHinting | ImGuiFreeTypeBuilderFlags_Bitmap;
  atlas.Flags |= ImFontAtlasFlags_NoPowerOfTwoHeight;
  atlas.TexDesiredWidth = scale > 2.5F ? 4096 : 2048;

  FT_Library opened = nullptr;
  [[maybe_unused]] auto error = FT_Init_FreeType(&opened);
  assert(!error);
  Library library{opened};

  constexpr std::array weights{Weight::regular, Weight::medium, Weight::semibold};
  constexpr std::array types{Type::text, Type::figure, Type::title, Type::lead, Type::fine};
  for (Type type : types) {
    for (Weight weight : weights) {
      Bytes file = face_file(weight);
      ImFontConfig config;
      config.FontDataOwnedByAtlas = false;
      config.SizePixels = static_cast<float>(em(type));
      config.GlyphRanges = type == Type::figure ? figure_signs : signs;
      // The atlas takes the bytes as mutable but only reads them.
      fonts_[index({type, weight})] =
          atlas.AddFontFromMemoryTTF(const_cast<unsigned char*>(file.data()),
                                     static_cast<int>(file.size()), config.SizePixels, &config);
    }
  }
  atlas.Build();

  // The builder rounds every advance up, which sets text loosely. Ours keeps the face's own
  // advances and rounds where each letter stands; typing fields, which ImGui draws, get the nearest
  // whole advance.
  for (Type type : types) {
    for (Weight weight : weights) {
      Face face = open_face(library, weight);
      FT_Set_Pixel_Sizes(face.get(), 0, static_cast<FT_UInt>(em(type)));
      ImFont& font = *fonts_[index({type, weight})];
      // ImGui's line height, with room for ascenders and descenders.
      font.FontSize = font.Ascent - font.Descent;
      auto& advances = advances_[index({type, weight})];
      advances.assign(static_cast<std::size_t>(font.IndexAdvanceX.Size), font.FallbackAdvanceX);
      for (ImFontGlyph& glyph : font.Glyphs) {
        if (glyph.Codepoint >= advances.size()) continue;
        auto at = static_cast<FT_ULong>(glyph.Codepoint);
        FT_UInt which = FT_Get_Char_Index(face.get(), at);
        if (!which || FT_Load_Glyph(face.get(), which, FT_LOAD_NO_HINTING | FT_LOAD_NO_BITMAP)) {
          advances[glyph.Codepoint] = glyph.AdvanceX;
          continue;
        }
        float exact = static_cast<float>(face->glyph->linearHoriAdvance) / 65536.0F;
        advances[glyph.Codepoint] = exact;
        glyph.AdvanceX = std::round(exact);
        font.IndexAdvanceX[static_cast<int>(glyph.Codepoint)] = glyph.AdvanceX;
      }
    }
  }
  // The atlas made a copy of the face for each of its fonts; it is drawn.
  atlas.ClearInputData();
}

int Fonts::em(Type type) const {
  auto nominal = static_cast<float>(em_pixels[static_cast<std::size_t>(type)]);
  return std::max(1, static_cast<int>(std::lround(nominal * scale_)));
}

float Fonts::line_height(Type type) const {
  return std::round(static_cast<float>(em(type)) * (type == Type::figure ? 1.2F : 1.4F));
}

float Fonts::cap_height(Type type) const {
  constexpr float inter_cap_height = 0.727F;  // of the em
  return std::round(static_cast<float>(em(type)) * inter_cap_height);
}

float Fonts::advance(Font font, char32_t sign) const {
  const auto& advances = advances_[index(font)];
  return sign < advances.size() ? advances[sign] : fonts_[index(font)]->FallbackAdvanceX;
}

float Fonts::digit_cell(Font font) const {
  float widest = 0;
  for (char32_t digit = '0'; digit <= '9'; ++digit) widest = std::max(widest, advance(font, digit));
  return std::ceil(widest);
}

float Fonts::run(ImDrawList* draw, ImVec2 at, Font font, ImU32 colour, std::string_view text,
                 bool cells) const {
  const ImFont& face = *fonts_[index(font)];
  float cell = cells ? digit_cell(font) : 0;
  float top = std::round(at.y) - std::round(face.Ascent);
  float pen = 0;
  for (std::size_t i = 0; i < text.size();) {
    char32_t sign = next_sign(text, i);
    float step = advance(font, sign);
    float lead = 0;
    if (cells && is_digit(sign)) {
      lead = (cell - step) / 2;
      step = cell;
    }
    if (draw) {
      if (const ImFontGlyph* glyph = face.FindGlyph(static_cast<ImWchar>(sign)); glyph->Visible) {
        float x = std::round(at.x + pen + lead);
        draw->PrimReserve(6, 4);
        draw->PrimRectUV({x + glyph->X0, top + glyph->Y0}, {x + glyph->X1, top + glyph->Y1},
                         {glyph->U0, glyph->V0}, {glyph->U1, glyph->V1}, colour);
      }
    }
    pen += step;
  }
  return pen;
}

float Fonts::width(Font font, std::string_view text) const {
  return run(nullptr, {0, 0}, font, 0, text, false);
}

float Fonts::figures_width(Font font, std::string_view text) const {
  return run(nullptr, {0, 0}, font, 0, text, true);
}

namespace {

/// The blank before a figure's unit or interval: "20 %", "11 min", "0.9 (0–8)".
bool within_figure(std::string_view text, std::size_t blank) {
  constexpr std::array<std::string_view, 8> units{"%", "min", "s", "h", "m", "km", "mm", "cm"};
  if (blank == 0) return false;
  const auto digit = [](char sign) { return sign >= '0' && sign <= '9'; };
  if (!digit(text[blank - 1]) && text[blank - 1] != '%') return false;
  const std::string_view next = text.substr(blank + 1);
  if (next.size() > 1 && next[0] == '(' && (digit(next[1]) || next[1] == '-')) return true;
  return std::ranges::any_of(units, [&](std::string_view unit) {
    return next.starts_with(unit) &&
           (next.size() == unit.size() ||
            std::isalnum(static_cast<unsigned char>(next[unit.size()])) == 0);
  });
}

/// A blank at which a line can end, and how far the pen stands behind it.
struct Blank {
  std::size_t at = std::string_view::npos;
  float pen = 0;
  bool there() const { return at != std::string_view::npos; }
};

}  // namespace

std::vector<WrappedLine> wrap(const Fonts& fonts, Font font, std::string_view text, float width) {
  std::vector<WrappedLine> lines;
  std::size_t begin = 0;
  Blank between, within;  // words; a figure and its unit, where nothing else is left
  float pen = 0;
  for (std::size_t i = 0; i < text.size();) {
    std::size_t here = i;
    char32_t sign = next_sign(text, i);
    if (sign == '\n') {
      lines.push_back({begin, here});
      begin = i;
      between = within = {};
      pen = 0;
      continue;
    }
    float step = fonts.advance(font, sign);
    if (sign == ' ') {
      pen += step;
      if (here > begin) (within_figure(text, here) ? within : between) = {here, pen};
      continue;
    }
    if (pen + step > width && here > begin) {
      const Blank broken = between.there() ? between : within;
      if (broken.there()) {
        lines.push_back({begin, broken.at});
        begin = broken.at + 1;
        pen -= broken.pen;
        within = within.there() && within.at > broken.at ? Blank{within.at, within.pen - broken.pen}
                                                         : Blank{};
      } else {
        lines.push_back({begin, here});
        begin = here;
        pen = 0;
        within = {};
      }
      between = {};
    }
    pen += step;
  }
  lines.push_back({begin, text.size()});
  return lines;
}

std::string ellipsis(const Fonts& fonts, Font font, std::string_view text, float width) {
  if (fonts.width(font, text) <= width) return std::string(text);
  constexpr std::string_view dots = "…";
  float room = width - fonts.width(font, dots);
  float pen = 0;
  std::size_t fits = 0;
  for (std::size_t i = 0; i < text.size();) {
    pen += fonts.advance(font, next_sign(text, i));
    if (pen > room) break;
    fits = i;
  }
  while (fits > 0 && text[fits - 1] == ' ') --fits;
  return std::string(text.substr(0, fits)) + std::string(dots);
}

}  // namespace stonecall::desk
