#include "sim/sheet/sheet_html.hpp"

#include <fmt/core.h>

#include "sim/sheet/typesetter.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr char kStyle[] =
    "body{{margin:0;background:#e9e6df}}"
    "main{{width:{0}mm;max-width:100%;margin:6mm auto;background:#fff;"
    "box-shadow:0 0 2mm #9a968c}}"
    "svg{{display:block;width:100%;height:auto}}"
    ".words{{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}}"
    "@page{{size:{0}mm {1}mm;margin:0}}"
    "@media print{{body{{background:#fff}}main{{margin:0;box-shadow:none}}.words{{display:none}}}}";

}  // namespace

std::string page_html(const SheetPage& page) {
  std::string words;
  for (const PlacedText& text : page.texts)
    words += "<p>" + markup_of(text.column.text, true) + "</p>\n";
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width\">\n<title>{0}</title>\n"
      "<style>{1}</style>\n</head>\n<body>\n<main>\n"
      "<div role=\"img\" aria-label=\"{0}; its words follow\">\n{2}</div>\n"
      "<section class=\"words\">\n{3}</section>\n</main>\n</body>\n</html>\n",
      markup_of(page.title, true), fmt::format(kStyle, page.paper.width, page.paper.height),
      page_svg(page), words);
}

}  // namespace plunge
