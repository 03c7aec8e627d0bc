//! Triangles on a canvas, by WebGL2. What it is given is kept by whoever gave it: the browser may take
//! the canvas' memory away at any time.

use super::turn::Stance;
use samespot_core::prepare::solid::{CORNER_BYTES, Look, SolidPart};
use wasm_bindgen::JsCast;
use web_sys::{
    HtmlCanvasElement, WebGl2RenderingContext as Gl, WebGlProgram, WebGlUniformLocation,
};

/// Corners: place; direction; side of a line and how far along it.
const CORNERS: &str = r"#version 300 es
layout(location=0) in vec3 p;
layout(location=1) in vec3 d;
layout(location=2) in vec2 s;
uniform mat3 turn;
uniform vec4 fit;
uniform vec4 wide;
out vec3 n;
out vec2 t;
void main() {
  vec3 q = turn * p;
  n = turn * d;
  t = s;
  vec2 w = n.xy;
  float l = length(w);
  w = l > 1e-5 ? w / l : vec2(1, 0);
  vec2 at = q.xy * fit.xy + fit.zw + vec2(-w.y, w.x) * s.x * wide.xy;
  gl_Position = vec4(at, -q.z * wide.z - wide.w, 1);
}";

/// Skin, lines and bands. `how`: which of them; pixels for each mm along; length of a dash with its gap,
/// and of the dash, in pixels.
const SHADES: &str = r"#version 300 es
precision highp float;
in vec3 n;
in vec2 t;
uniform vec3 ink;
uniform vec3 under;
uniform vec4 how;
out vec4 c;
void main() {
  vec3 o = ink;
  if (how.x < .5) {
    vec3 m = normalize(n);
    float l = abs(dot(m, vec3(-.35, .55, .76)));
    o = mix(under, ink, m.z < 0. ? .15 * l : .2 + .8 * l);
  } else if (how.x < 1.5) {
    if (how.z > 0. && mod(t.y * how.y, how.z) > how.w) discard;
  } else {
    o = mix(under, ink, t.y * .8);
    if (t.y > .9 && mod(gl_FragCoord.x + gl_FragCoord.y, how.z) < how.w) o = under;
  }
  c = vec4(o, 1);
}";

/// Colours of the page, red green blue, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Colours {
    ink: [f32; 3],
    line: [f32; 3],
    paper: [f32; 3],
    faint: [f32; 3],
    /// Behind it all.
    wash: [f32; 3],
}

/// What is to be drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scene<'a> {
    pub(super) parts: &'a [SolidPart],
    pub(super) reach_mm: f64,
    pub(super) stance: Stance,
    /// CSS pixels.
    pub(super) room: [f64; 2],
    pub(super) colours: Colours,
}

/// A canvas that can be drawn on.
#[derive(Debug)]
pub(super) struct Board {
    gl: Gl,
    program: WebGlProgram,
}

#[expect(clippy::cast_possible_truncation, reason = "what a screen takes")]
fn narrow(x: f64) -> f32 {
    x as f32
}

/// A colour as the page has it: `#rrggbb`.
fn colour(text: &str) -> Option<[f32; 3]> {
    let hex = text.trim().strip_prefix('#')?;
    let part = |k: usize| u8::from_str_radix(hex.get(2 * k..2 * k + 2)?, 16).ok();
    Some([part(0)?, part(1)?, part(2)?].map(|x| f32::from(x) / 255.0))
}

impl Colours {
    /// Those that stand now where the canvas is.
    pub(super) fn of(canvas: &HtmlCanvasElement) -> Self {
        let style = web_sys::window().and_then(|w| w.get_computed_style(canvas).ok().flatten());
        let of = |name: &str, other: f32| {
            style
                .as_ref()
                .and_then(|s| s.get_property_value(name).ok())
                .and_then(|text| colour(&text))
                .unwrap_or([other; 3])
        };
        Self {
            ink: of("--ink", 0.1),
            line: of("--line", 0.5),
            paper: of("--paper", 1.0),
            faint: of("--faint", 0.8),
            wash: of("--wash", 0.9),
        }
    }
}

/// The size of a canvas in CSS pixels, its drawing made as fine as the screen is.
pub(super) fn room(canvas: &HtmlCanvasElement) -> [f64; 2] {
    let room = [canvas.client_width(), canvas.client_height()].map(f64::from);
    let fine = web_sys::window()
        .map_or(1.0, |w| w.device_pixel_ratio())
        .clamp(1.0, 3.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "pixels of a screen"
    )]
    let [wide, tall] = room.map(|x| (x * fine).round().max(1.0) as u32);
    if canvas.width() != wide || canvas.height() != tall {
        canvas.set_width(wide);
        canvas.set_height(tall);
    }
    room
}

impl Board {
    /// On a canvas; nothing where this browser can't.
    pub(super) fn on(canvas: &HtmlCanvasElement) -> Option<Self> {
        let gl: Gl = canvas.get_context("webgl2").ok()??.dyn_into().ok()?;
        if gl.is_context_lost() {
            return None;
        }
        let program = gl.create_program()?;
        for (kind, text) in [(Gl::VERTEX_SHADER, CORNERS), (Gl::FRAGMENT_SHADER, SHADES)] {
            let shader = gl.create_shader(kind)?;
            gl.shader_source(&shader, text);
            gl.compile_shader(&shader);
            gl.attach_shader(&program, &shader);
        }
        gl.link_program(&program);
        let linked = gl.get_program_parameter(&program, Gl::LINK_STATUS);
        if linked != wasm_bindgen::JsValue::TRUE {
            return None;
        }
        gl.use_program(Some(&program));
        for kind in [Gl::ARRAY_BUFFER, Gl::ELEMENT_ARRAY_BUFFER] {
            gl.bind_buffer(kind, Some(&gl.create_buffer()?));
        }
        for (place, count, from) in [(0, 3, 0), (1, 3, 12), (2, 2, 24)] {
            gl.enable_vertex_attrib_array(place);
            gl.vertex_attrib_pointer_with_i32(place, count, Gl::FLOAT, false, 32, from);
        }
        gl.enable(Gl::DEPTH_TEST);
        gl.depth_func(Gl::LEQUAL);
        Some(Self { gl, program })
    }

    /// Takes in corners and their order.
    pub(super) fn take(&self, corners: u32, bytes: &[u8]) {
        let at = usize::try_from(corners)
            .unwrap_or(0)
            .saturating_mul(CORNER_BYTES);
        if let Some((corners, order)) = bytes.split_at_checked(at) {
            let put = |kind, bytes| {
                self.gl
                    .buffer_data_with_u8_array(kind, bytes, Gl::STATIC_DRAW);
            };
            put(Gl::ARRAY_BUFFER, corners);
            put(Gl::ELEMENT_ARRAY_BUFFER, order);
        }
    }

    fn named(&self, name: &str) -> Option<WebGlUniformLocation> {
        self.gl.get_uniform_location(&self.program, name)
    }

    fn four(&self, name: &str, [a, b, c, d]: [f64; 4]) {
        let [a, b, c, d] = [a, b, c, d].map(narrow);
        self.gl.uniform4f(self.named(name).as_ref(), a, b, c, d);
    }

    fn shade(&self, name: &str, [r, g, b]: [f32; 3]) {
        self.gl.uniform3f(self.named(name).as_ref(), r, g, b);
    }

    /// Draws all of it.
    pub(super) fn draw(&self, scene: &Scene<'_>) {
        let gl = &self.gl;
        let [wide, tall] = scene.room;
        if wide < 1.0 || tall < 1.0 {
            return;
        }
        gl.viewport(0, 0, gl.drawing_buffer_width(), gl.drawing_buffer_height());
        let Colours {
            ink,
            line,
            paper,
            faint,
            wash,
        } = scene.colours;
        gl.clear_color(wash[0], wash[1], wash[2], 1.0);
        gl.clear(Gl::COLOR_BUFFER_BIT | Gl::DEPTH_BUFFER_BIT);
        // The turn by columns, as the shader has it.
        let rows = scene.stance.rows();
        let turn: [f32; 9] = core::array::from_fn(|k| narrow(rows[k % 3][k / 3]));
        gl.uniform_matrix3fv_with_f32_array(self.named("turn").as_ref(), false, &turn);
        let scale = scene.stance.scale(scene.reach_mm, scene.room);
        let [x, y] = scene.stance.shift;
        let of = [2.0 / wide, 2.0 / tall];
        self.four("fit", [scale * of[0], scale * of[1], x * of[0], -y * of[1]]);
        let fine = f64::from(gl.drawing_buffer_width()) / wide;
        // Lit skin is the lighter of paper and faint, whichever theme is worn.
        let bright = |c: [f32; 3]| c[0] + c[1] + c[2];
        let (lit, dim) = if bright(paper) > bright(faint) {
            (paper, faint)
        } else {
            (faint, paper)
        };
        for part in scene.parts {
            // Which way of drawing, width in CSS pixels, how far before the skin, dash with gap, dash.
            let (kind, width, before, [period, dash]) = match part.look {
                Look::Skin => (0.0, 0.0, 0.0, [0.0; 2]),
                Look::Steps => (1.0, 1.0, 0.004, [0.0; 2]),
                Look::Band => (2.0, 0.0, 0.006, [9.0, 4.5]),
                Look::Outline => (1.0, 2.6, 0.012, [0.0; 2]),
                Look::Lands => (1.0, 2.0, 0.014, [11.0, 6.0]),
                Look::Dart => (1.0, 2.2, 0.014, [24.0, 18.0]),
                Look::Middle => (1.0, 1.6, 0.016, [0.0; 2]),
                Look::Mark => (1.0, 3.4, 0.018, [0.0; 2]),
            };
            // Half of the width to either side.
            let half = [width * of[0] / 2.0, width * of[1] / 2.0];
            let deep = 0.6 / scene.reach_mm.max(1.0);
            self.four("wide", [half[0], half[1], deep, before]);
            // Along a line CSS pixels count, over a band those of the screen.
            let pixel = if part.look == Look::Band { fine } else { 1.0 };
            self.four("how", [kind, scale, period * pixel, dash * pixel]);
            self.shade(
                "ink",
                match part.look {
                    Look::Skin => lit,
                    Look::Steps => line,
                    _ => ink,
                },
            );
            self.shade("under", if part.look == Look::Skin { dim } else { paper });
            let count = i32::try_from(part.count).unwrap_or(0);
            let from = i32::try_from(part.first).unwrap_or(0).saturating_mul(4);
            gl.draw_elements_with_i32(Gl::TRIANGLES, count, Gl::UNSIGNED_INT, from);
        }
    }
}
